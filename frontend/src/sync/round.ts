/**
 * One round of the sync: push what is only here, then pull to the head of the feed.
 *
 * What always holds, however a round ends:
 * 1. Nothing is taken out of the store; a verdict only says "sent".
 * 2. An entry is settled by being seen in the feed, at or below the cursor.
 * 3. At the head, whatever was sent and did not come back is to be sent again.
 * 4. A history that is not the one held here starts the cursor at 0 and makes all
 *    this device holds due, own or not: that is how a restored server is healed.
 * 5. An entry the server cannot take is set aside alone; the rest flows on.
 */
import type { FarmStore } from "../store/farm-store.ts";
import type { Cursor, RecordRow } from "../store/rows.ts";
import { fitting, PUSH_RECORDS, textOf } from "./batch.ts";
import { BrokenPage, checkPage } from "./page.ts";
import type { Answer, PullAnswer, Transport } from "./transport.ts";

export const PULL_ENTRIES = 500;
const DAY_MS = 24 * 60 * 60 * 1000;
const TURNS = 4;

/** The server asks for time, or gave no usable answer: try later. */
export class TryLater extends Error {
  constructor(
    readonly code: string,
    readonly afterMs: number | null = null,
  ) {
    super(code);
    this.name = "TryLater";
  }
}

/** The server does not know this device (any more): everything is kept. */
export class SignedOut extends Error {
  constructor(readonly code: string) {
    super(code);
    this.name = "SignedOut";
  }
}

/** Entries of the farm's feed that are on this device, of those there are. */
export interface Fetched {
  held: number;
  head: number;
}

export interface RoundParts {
  store: FarmStore;
  transport: Transport;
  /** ms UTC */
  now: () => number;
  /** Name of this build. */
  app: string;
  device: string;
  /** Told after each step: how far, and that rows may have changed. What it throws ends the round. */
  progress: (phase: "pushing" | "pulling", done: number, total: number, fetched?: Fetched) => void | Promise<void>;
}

/** Resolves when all is settled; TryLater, SignedOut or NoAnswer otherwise. */
export async function syncRound(parts: RoundParts): Promise<void> {
  const { store } = parts;
  await store.retryStuck(parts.app, parts.now() - DAY_MS);
  let renewed = false;
  for (let resent = 0; resent < TURNS; ) {
    await new Pushing(parts).all();
    if (await pullToHead(parts)) {
      if ((await store.resendSent()) > 0) resent += 1;
      else if ((await store.counts()).saved === 0) return;
    } else {
      if (renewed) throw new TryLater("history_changed");
      renewed = true;
      await store.startAnew();
      await parts.progress("pushing", 0, (await store.counts()).saved);
    }
  }
  throw new TryLater("not_settled");
}

class Pushing {
  private most = PUSH_RECORDS;
  private done = 0;
  private total = 0;

  constructor(private readonly parts: RoundParts) {}

  async all(): Promise<void> {
    const { store } = this.parts;
    this.total = (await store.counts()).saved;
    for (;;) {
      const rows = await store.due("saved", this.most);
      if (rows.length === 0) return;
      await this.parts.progress("pushing", this.done, this.total);
      await this.batch(await this.sendable(rows));
      await this.parts.progress("pushing", this.done, this.total);
    }
  }

  /** Sets aside what no request can carry. */
  private async sendable(rows: RecordRow[]): Promise<RecordRow[]> {
    const fit: RecordRow[] = [];
    for (const row of rows) {
      if (textOf(row.raw) === null) await this.setAside(row, "unreadable");
      else fit.push(row);
    }
    return fitting(fit);
  }

  private async batch(rows: RecordRow[]): Promise<void> {
    if (rows.length === 0) return;
    const answer = await this.send(rows);
    if (!answer.refused) return this.learn(rows, answer.body.verdicts.map((one) => one.sha256));
    const { status, code } = answer;
    if (status === 413) this.most = Math.max(1, Math.floor(this.most / 2));
    if (rows.length > 1) {
      const half = Math.ceil(rows.length / 2);
      await this.batch(rows.slice(0, half));
      return this.batch(rows.slice(half));
    }
    const [row] = rows;
    if (!row) return;
    if (status >= 500) await this.standsAtAll();
    await this.setAside(row, code || String(status));
  }

  private async learn(rows: RecordRow[], told: string[]): Promise<void> {
    const ours = new Set(rows.map((row) => row.sha));
    const sent = told.filter((sha) => ours.has(sha));
    if (sent.length === 0) throw new TryLater("no_verdict");
    await this.parts.store.markSent(sent);
    this.done += sent.length;
  }

  /** A server that fails on an empty push as well is ill: the entry is not to blame. */
  private async standsAtAll(): Promise<void> {
    const answer = await this.send([]);
    if (answer.refused && answer.status >= 500) throw new TryLater(answer.code || String(answer.status));
  }

  private async setAside(row: RecordRow, code: string): Promise<void> {
    const { store, now, app } = this.parts;
    await store.markStuck(row.sha, { at: now(), app, code });
    this.done += 1;
  }

  private async send(rows: RecordRow[]) {
    const { transport, app, device } = this.parts;
    const records = rows.map((row) => textOf(row.raw) ?? "");
    const waiting = Math.max(0, (await unsent(this.parts.store)) - records.length);
    return stopping(await transport.push({ app, protocol: 1, device, waiting, records }));
  }
}

/** Entries that are only here. */
async function unsent(store: FarmStore): Promise<number> {
  const { saved, stuck } = await store.counts();
  return saved + stuck;
}

/** True at the head; false when the server's history is another one. */
async function pullToHead(parts: RoundParts): Promise<boolean> {
  const { store, transport, app } = parts;
  let cursor = await store.cursor();
  let done = 0;
  for (;;) {
    const answer = stopping(await transport.pull(cursor, PULL_ENTRIES, { app, waiting: await unsent(store) }));
    if (answer.refused) {
      if (answer.status === 409) return false;
      throw new TryLater(answer.code || String(answer.status));
    }
    const taken = await takePage(store, cursor, answer.body);
    if (taken === null) return false;
    const { entries, head } = answer.body;
    done += entries.length;
    await parts.progress("pulling", done, Math.max(done, done + head.seq - taken.seq), { held: taken.seq, head: head.seq });
    if (taken.seq >= head.seq) return taken.seq === head.seq && taken.chain === head.chain;
    if (entries.length === 0) throw new TryLater("empty_page");
    cursor = taken;
  }
}

/** The cursor after the page, or null when the page does not continue what is held. */
async function takePage(store: FarmStore, cursor: Cursor, page: PullAnswer): Promise<Cursor | null> {
  try {
    const rows = checkPage(cursor, page.entries);
    const last = rows[rows.length - 1];
    if (!last) return cursor;
    const written = await store.applyPage(cursor, rows);
    return written ? { seq: last.seq, chain: last.chain } : await store.cursor();
  } catch (error) {
    if (error instanceof BrokenPage) return null;
    throw error;
  }
}

/** Answers that end the round whatever was asked. */
function stopping<T>(answer: Answer<T>): Answer<T> {
  if (!answer.refused) return answer;
  const { status, code, retryAfterMs } = answer;
  if (status === 401 || status === 403) throw new SignedOut(code || String(status));
  if (status === 429 || status === 503) throw new TryLater(code || String(status), retryAfterMs);
  return answer;
}
