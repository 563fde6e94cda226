/**
 * When to sync: at once after a save, on `online` and on becoming visible, else by a
 * timer that slows down to five minutes. One round at a time, in one window.
 */
import type { Lock } from "./lock.ts";
import { SignedOut, syncRound, TryLater, type Fetched, type RoundParts } from "./round.ts";
import { NoAnswer } from "./transport.ts";

export type Phase = "idle" | "pushing" | "pulling" | "waiting" | "signed-out";

export interface LoopState {
  phase: Phase;
  done: number;
  total: number;
  last_ok_at: number | null;
  last_error: string | null;
  /** How much of the farm's feed is on this device, as of the last page. */
  fetched: Fetched | null;
}

/** Somebody asked to fetch no more for now. */
class Paused extends Error {}

export interface LoopParts extends Omit<RoundParts, "progress"> {
  lock: Lock;
  /** A number in [0, 1). */
  random: () => number;
  /** Resolves after `ms`, or at once when `signal` is aborted. */
  wait: (ms: number, signal: AbortSignal) => Promise<void>;
  /** Rows may have changed, or the state did. */
  changed: () => void | Promise<void>;
}

const LONGEST_WAIT_MS = 5 * 60 * 1000;
const FIRST_RETRY_MS = 2_000;
const FIRST_POLL_MS = 30_000;

/** Between half and all of a wait that doubles with each try. */
export function backoffMs(first: number, tries: number, random: number): number {
  const full = Math.min(LONGEST_WAIT_MS, first * 2 ** Math.min(tries, 20));
  return Math.round(full * (0.5 + random / 2));
}

export class SyncLoop {
  readonly state: LoopState = { phase: "idle", done: 0, total: 0, last_ok_at: null, last_error: null, fetched: null };
  private readonly ending = new AbortController();
  private sleeping = new AbortController();
  private wanted = true;
  private failures = 0;
  private quiet = 0;
  private notBefore = 0;
  private waiters: (() => void)[] = [];
  private isPaused = false;

  constructor(private readonly parts: LoopParts) {}

  /** Runs until `close`. */
  async run(): Promise<void> {
    const { signal } = this.ending;
    while (!signal.aborted) {
      this.wanted = false;
      const waiters = this.waiters.splice(0);
      const pause = await this.attempt();
      for (const tell of waiters) tell();
      await this.sleep(pause);
    }
    for (const tell of this.waiters.splice(0)) tell();
  }

  /** Soon, unless the server asked for time or does not know this device. */
  nudge(): void {
    this.wanted = true;
    this.quiet = 0;
    // A phone says it is online a little before it is: what failed for hours must not make it wait now.
    this.failures = 0;
    this.sleeping.abort();
  }

  /** At once; resolves when a round that began after this has ended, well or not. */
  now(): Promise<void> {
    if (this.ending.signal.aborted) return Promise.resolve();
    return new Promise((resolve) => {
      this.waiters.push(resolve);
      this.notBefore = 0;
      this.nudge();
    });
  }

  get paused(): boolean {
    return this.isPaused;
  }

  /** Fetches no further page until `resume`. What is written here is still sent. */
  pause(): void {
    this.isPaused = true;
    void this.parts.changed();
  }

  resume(): void {
    this.isPaused = false;
    this.notBefore = 0;
    void this.parts.changed();
    this.nudge();
  }

  close(): void {
    this.ending.abort();
    this.sleeping.abort();
  }

  /** One round; answers how long to pause after it. */
  private async attempt(): Promise<number> {
    try {
      await this.parts.lock(() => this.round(), this.ending.signal);
      return this.succeeded();
    } catch (error) {
      return this.ending.signal.aborted ? 0 : this.failed(error);
    }
  }

  private round(): Promise<void> {
    return syncRound({
      ...this.parts,
      progress: async (phase, done, total, fetched) => {
        if (total > 0) Object.assign(this.state, { phase, done, total });
        if (fetched) this.state.fetched = fetched;
        await this.parts.changed();
        if (this.isPaused && fetched && fetched.held < fetched.head) throw new Paused();
      },
    });
  }

  private succeeded(): number {
    this.failures = 0;
    this.notBefore = 0;
    this.show("idle", null);
    this.state.last_ok_at = this.parts.now();
    void this.parts.changed();
    this.quiet += 1;
    return backoffMs(FIRST_POLL_MS, this.quiet - 1, this.parts.random());
  }

  private failed(error: unknown): number {
    const pause = this.pauseAfter(error);
    if (error instanceof SignedOut) this.show("signed-out", error.code);
    else this.show("waiting", codeOf(error));
    void this.parts.changed();
    return pause;
  }

  private pauseAfter(error: unknown): number {
    if (error instanceof Paused) return LONGEST_WAIT_MS;
    const pause = backoffMs(FIRST_RETRY_MS, this.failures, this.parts.random());
    this.failures += 1;
    if (error instanceof SignedOut) return this.hold(LONGEST_WAIT_MS);
    const asked = error instanceof TryLater ? error.afterMs : null;
    if (asked !== null) return this.hold(Math.min(LONGEST_WAIT_MS, Math.max(pause, asked)));
    return pause;
  }

  /** A nudge does not shorten this pause; `now` does. */
  private hold(ms: number): number {
    this.notBefore = this.parts.now() + ms;
    return ms;
  }

  private show(phase: Phase, error: string | null): void {
    Object.assign(this.state, { phase, done: 0, total: 0, last_error: error });
  }

  private async sleep(ms: number): Promise<void> {
    let left = ms;
    for (;;) {
      if (this.ending.signal.aborted || this.mayGo()) return;
      this.sleeping = new AbortController();
      const before = this.parts.now();
      await this.parts.wait(left, this.sleeping.signal);
      if (!this.sleeping.signal.aborted) return;
      left = Math.max(0, left - Math.max(0, this.parts.now() - before));
    }
  }

  private mayGo(): boolean {
    return this.wanted && (this.waiters.length > 0 || this.parts.now() >= this.notBefore);
  }
}

function codeOf(error: unknown): string {
  if (error instanceof Paused) return "paused";
  if (error instanceof NoAnswer) return "no_connection";
  if (error instanceof TryLater) return error.code;
  return error instanceof Error ? error.name : "unknown";
}
