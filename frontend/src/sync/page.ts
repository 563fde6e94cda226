/** Whether a page of the feed continues the history this device holds. */
import { nextLink } from "../core/sync/chain.ts";
import { readEnvelope } from "../core/sync/envelope.ts";
import { keyOf } from "../core/sync/hash.ts";
import type { Stamp } from "../core/sync/stamp.ts";
import type { Cursor, FeedRow } from "../store/rows.ts";

/** The page is not the continuation of what is held here. */
export class BrokenPage extends Error {
  constructor(what: string, seq: number) {
    super(`${what} at entry ${seq}`);
    this.name = "BrokenPage";
  }
}

interface Told {
  seq?: unknown;
  chain?: unknown;
  raw?: unknown;
  raw_b64?: unknown;
  held?: unknown;
  received_at?: unknown;
  received_on?: unknown;
  recorded_on?: unknown;
  stamp_eff?: unknown;
  role?: unknown;
  relayed_by?: unknown;
}

/**
 * The entries as rows: numbered without a hole from the cursor on, each link worked
 * out anew. BrokenPage otherwise.
 */
export function checkPage(from: Cursor, entries: readonly unknown[]): FeedRow[] {
  let cursor = from;
  return entries.map((entry) => {
    const row = readRow(cursor, entry as Told);
    cursor = { seq: row.seq, chain: row.chain };
    return row;
  });
}

function readRow(after: Cursor, told: Told): FeedRow {
  const seq = after.seq + 1;
  if (told.seq !== seq) throw new BrokenPage(`the feed jumps to ${String(told.seq)}`, seq);
  const raw = rawOf(told, seq);
  const row = {
    sha: keyOf(raw),
    raw,
    seq,
    chain: text(told.chain, seq),
    held: typeof told.held === "string" ? told.held : null,
    received_at: whole(told.received_at, seq),
    received_on: text(told.received_on, seq),
    recorded_on: text(told.recorded_on, seq),
    stamp_eff: stampOf(told.stamp_eff, seq),
    role: typeof told.role === "string" ? told.role : "",
    relayed_by: typeof told.relayed_by === "string" ? told.relayed_by : null,
    ...origin(raw),
  };
  if (linkOf(after.chain, row) !== row.chain) throw new BrokenPage("the chain does not hold", seq);
  return row;
}

function linkOf(prev: string, row: FeedRow): string | null {
  try {
    return nextLink(prev, row);
  } catch {
    return null;
  }
}

function rawOf(told: Told, seq: number): string | Uint8Array {
  if (typeof told.raw === "string") return told.raw;
  if (typeof told.raw_b64 !== "string") throw new BrokenPage("no text", seq);
  try {
    return Uint8Array.from(atob(told.raw_b64), (char) => char.charCodeAt(0));
  } catch {
    throw new BrokenPage("unreadable bytes", seq);
  }
}

function origin(raw: string | Uint8Array): { device: string; device_seq: number } {
  const envelope = typeof raw === "string" ? readEnvelope(raw) : null;
  return { device: envelope?.device ?? "", device_seq: envelope?.device_seq ?? 0 };
}

function text(value: unknown, seq: number): string {
  if (typeof value !== "string") throw new BrokenPage("a text is missing", seq);
  return value;
}

function whole(value: unknown, seq: number): number {
  if (!Number.isSafeInteger(value)) throw new BrokenPage("a number is missing", seq);
  return value as number;
}

function stampOf(value: unknown, seq: number): Stamp | null {
  if (value === undefined || value === null) return null;
  if (!Array.isArray(value)) throw new BrokenPage("a stamp is not readable", seq);
  return [whole(value[0], seq), whole(value[1], seq)];
}
