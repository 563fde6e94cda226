/**
 * A model of the farm's server, written from the protocol and not from the client:
 * stores every record once by its hash, numbers without holes, chains, clamps stamps.
 * Faults are switched on by tests.
 */
import { createHash } from "node:crypto";
import { CHAIN_START, nextLink } from "../../core/sync/chain.ts";
import type { Cursor } from "../../store/rows.ts";
import type { Answer, PullAnswer, PushAnswer, PushRequest, Transport, Verdict } from "../transport.ts";

export interface Stored {
  seq: number;
  chain: string;
  raw: string;
  held?: string;
  received_at: number;
  received_on: string;
  recorded_on: string;
  stamp_eff?: [number, number];
  role: string;
}

interface Parsed {
  recorded_at?: number;
  stamp?: [number, number];
  kind?: string;
}

export class ModelServer {
  log: Stored[] = [];
  now = 1_800_000_000_000;
  /** Counts requests and faults, so that tests can see that they happened. */
  readonly seen = { push: 0, pull: 0, conflicts: 0, duplicates: 0, crashes: 0 };
  pageSize = 500;
  /** A record with this text makes the server fail. */
  poison: string | null = null;
  /** More records than this in one push are too much. */
  mostRecords = 200;
  /** Answers every request with this, while set. */
  status: { status: number; code: string; retryAfterMs: number | null } | null = null;
  private bySha = new Map<string, Stored>();

  push(request: PushRequest): Answer<PushAnswer> {
    this.seen.push += 1;
    const refusal = this.refusal(request.records);
    if (refusal) return refusal;
    const verdicts = request.records.map((raw) => this.take(raw));
    return { refused: false, body: { verdicts } };
  }

  pull(after: Cursor, limit: number): Answer<PullAnswer> {
    this.seen.pull += 1;
    const refusal = this.refusal([]);
    if (refusal) return refusal;
    const chain = after.seq === 0 ? CHAIN_START : this.log[after.seq - 1]?.chain;
    if (chain !== after.chain) {
      this.seen.conflicts += 1;
      return { refused: true, status: 409, code: "history_changed", retryAfterMs: null };
    }
    const most = Math.min(limit, this.pageSize);
    const entries = structuredClone(this.log.slice(after.seq, after.seq + most));
    return { refused: false, body: { entries, head: this.head() } };
  }

  backup(): Stored[] {
    return structuredClone(this.log);
  }

  restore(backup: Stored[]): void {
    this.log = structuredClone(backup);
    this.bySha = new Map(this.log.map((one) => [sha(one.raw), one]));
  }

  head(): Cursor {
    const last = this.log[this.log.length - 1];
    return last ? { seq: last.seq, chain: last.chain } : { seq: 0, chain: CHAIN_START };
  }

  has(raw: string): boolean {
    return this.bySha.has(sha(raw));
  }

  private refusal(records: readonly string[]): Answer<never> | null {
    if (this.status) return { refused: true, ...this.status };
    if (records.length > this.mostRecords) {
      return { refused: true, status: 413, code: "too_large", retryAfterMs: null };
    }
    if (this.poison !== null && records.some((raw) => raw.includes(this.poison ?? ""))) {
      this.seen.crashes += 1;
      return { refused: true, status: 500, code: "", retryAfterMs: null };
    }
    return null;
  }

  private take(raw: string): Verdict {
    const key = sha(raw);
    const known = this.bySha.get(key);
    if (known) {
      this.seen.duplicates += 1;
      return { sha256: key, verdict: "duplicate", seq: known.seq };
    }
    const stored = this.number(key, raw);
    this.log.push(stored);
    this.bySha.set(key, stored);
    const { seq, held } = stored;
    return held ? { sha256: key, verdict: "held", seq, code: held } : { sha256: key, verdict: "stored", seq };
  }

  private number(key: string, raw: string): Stored {
    this.now += 1;
    const parsed = parse(raw);
    const held = parsed === null ? "unreadable" : null;
    const stamp_eff = parsed?.kind === "field_set" ? this.clamped(parsed.stamp ?? [0, 0]) : null;
    const at = this.now;
    const claimed = Math.min(parsed?.recorded_at ?? at, at);
    const facts = {
      seq: this.head().seq + 1,
      received_at: at,
      received_on: day(at),
      recorded_on: day(claimed),
      role: "grower",
    };
    const chain = nextLink(this.head().chain, { ...facts, sha: key, stamp_eff, held });
    return { ...facts, chain, raw, ...(held ? { held } : {}), ...(stamp_eff ? { stamp_eff } : {}) };
  }

  private clamped(stamp: [number, number]): [number, number] {
    return stamp[0] <= this.now ? stamp : [this.now, 0];
  }
}

export function sha(raw: string): string {
  return createHash("sha256").update(raw, "utf8").digest("hex");
}

function day(ms: number): string {
  return new Date(ms).toISOString().slice(0, 10);
}

function parse(raw: string): Parsed | null {
  try {
    return JSON.parse(raw) as Parsed;
  } catch {
    return null;
  }
}

export type Fault = "request_lost" | "reply_lost" | "twice" | "cut_front" | "cut_end" | null;

/** A connection to the model that goes wrong as told, one fault per request. */
export class FaultyWire implements Transport {
  faults: Fault[] = [];

  constructor(
    private readonly server: ModelServer,
    private readonly lost: () => Error,
  ) {}

  async push(request: PushRequest): Promise<Answer<PushAnswer>> {
    return this.carry(() => this.server.push(structuredClone(request)));
  }

  async pull(after: Cursor, limit: number): Promise<Answer<PullAnswer>> {
    const fault = this.faults[0];
    const answer = await this.carry(() => this.server.pull(after, limit));
    if (answer.refused || answer.body.entries.length === 0) return answer;
    if (fault === "cut_front") answer.body.entries.shift();
    if (fault === "cut_end") answer.body.entries.pop();
    return answer;
  }

  private carry<T>(ask: () => Answer<T>): Promise<Answer<T>> {
    const fault = this.faults.shift() ?? null;
    if (fault === "request_lost") return Promise.reject(this.lost());
    const answer = ask();
    if (fault === "twice") ask();
    if (fault === "reply_lost") return Promise.reject(this.lost());
    return Promise.resolve(structuredClone(answer));
  }
}
