/** The two requests of the sync protocol, as the loop sees them. */
import type { Cursor } from "../store/rows.ts";

export interface PushRequest {
  app: string;
  protocol: 1;
  device: string;
  /** Entries that are only on this device, besides those of this push. */
  waiting?: number;
  /** Each entry as its own JSON text. */
  records: string[];
}

export interface Verdict {
  sha256: string;
  verdict: "stored" | "duplicate" | "held";
  seq: number;
  code?: string;
}

export interface PushAnswer {
  verdicts: Verdict[];
}

export interface PullAnswer {
  entries: unknown[];
  head: Cursor;
}

/** What a device says of itself whenever it asks. */
export interface Told {
  app: string;
  /** Entries that are only on it. */
  waiting: number;
}

/** `refused`: the server answered, but not with 200. */
export type Answer<T> =
  | { refused: false; body: T }
  | { refused: true; status: number; code: string; retryAfterMs: number | null };

/** Both reject with NoAnswer when nothing readable came back. */
export interface Transport {
  push(request: PushRequest): Promise<Answer<PushAnswer>>;
  pull(after: Cursor, limit: number, told?: Told): Promise<Answer<PullAnswer>>;
}

/** No connection, or an answer that was cut off: nothing was learned. */
export class NoAnswer extends Error {
  constructor(cause?: unknown) {
    super("no answer from the farm's computer", { cause });
    this.name = "NoAnswer";
  }
}

const HEX_LINK = /^[0-9a-f]{32}$/;

/** `[seq, chain]` as a cursor; NoAnswer when it is none. */
export function readHead(value: unknown): Cursor {
  if (Array.isArray(value)) {
    const [seq, chain] = value as unknown[];
    if (Number.isSafeInteger(seq) && typeof chain === "string" && HEX_LINK.test(chain)) {
      return { seq: seq as number, chain };
    }
  }
  throw new NoAnswer("the head is not readable");
}

export function readPush(value: unknown): PushAnswer {
  const verdicts = (value as { verdicts?: unknown } | null)?.verdicts;
  if (!Array.isArray(verdicts)) throw new NoAnswer("the verdicts are not readable");
  const readable = verdicts.filter(
    (one: unknown): one is Verdict => typeof (one as Verdict | null)?.sha256 === "string",
  );
  return { verdicts: readable };
}

export function readPull(value: unknown): PullAnswer {
  const { entries, head } = (value ?? {}) as { entries?: unknown; head?: unknown };
  if (!Array.isArray(entries)) throw new NoAnswer("the entries are not readable");
  return { entries, head: readHead(head) };
}
