/**
 * What screens use: one farm's stock on this phone, how to write to it, and how
 * far its entries have got. No DOM, no framework.
 */
import type { Posting, StockState } from "../core/stock/state.ts";
import type { Kind, Role } from "../core/stock/kinds.ts";
import type { Choice } from "../core/stock/ways-out.ts";
import type { LotChange } from "../core/stock/what-if.ts";
import type { Asked } from "./addresses.ts";

export type { Asked, LotChange };

export interface Draft {
  kind: Kind;
  body: object;
  /** Civil date; today in the farm's zone when left out (the stored day in a demo farm). */
  occurred_on?: string;
}

export interface Saved {
  sha: string;
  id: string;
  kind: Kind;
}

export interface Member {
  id: string;
  name: string;
  role: Role;
  /** False for somebody who no longer works here; their entries keep their name. */
  active?: boolean;
  /** The name was erased and is "". */
  erased?: boolean;
}

export interface Farm {
  id: string;
  name: string;
  time_zone: string;
  as_of: string | null;
}

export interface Device {
  id: string;
  name: string;
}

export interface LocalEntry {
  sha: string;
  id: string;
  /** null until the entry has come back in the farm's feed. */
  seq: number | null;
  kind: string;
  v: number;
  body: Record<string, unknown>;
  occurred_on: string;
  recorded_at: number;
  author: string;
  device: string;
  held: string | null;
  status: "here" | "safe" | "stuck";
  role: string;
  relayed_by: string | null;
  /** When the farm's computer got it, ms UTC; null while it has not. */
  received_at?: number | null;
  /** When, by which build and why it was not taken; only with status "stuck". */
  stuck?: { at: number; app: string; code: string };
}

export interface SyncState {
  phase: "idle" | "pushing" | "pulling" | "waiting" | "signed-out";
  /** Entries sent or fetched so far in this round, of `total`. */
  done: number;
  total: number;
  last_ok_at: number | null;
  last_error: string | null;
  /** Entries of the farm's feed that are on this device, of those there are; null before the farm answered. */
  fetched: { held: number; head: number } | null;
  /** Nothing is fetched until `resume`; what is written here is still sent. */
  readonly paused: boolean;
  pause(): void;
  resume(): void;
  nudge(): void;
  now(): Promise<void>;
}

/** What the server answers when a browser or phone joins a farm. */
export interface EnrolAnswer {
  token: string;
  device: Device;
  member: Member;
  farm: Farm;
  members: Member[];
}

export interface FarmSession {
  readonly farm: Farm;
  readonly device: Device;
  readonly member: Member;
  readonly members: readonly Member[];
  /**
   * Live and read only: ask for it again after each change. On a large farm lists hold what is in
   * store and what happened in the last 400 days; a lot or check from before is there when asked
   * for by its id.
   */
  readonly state: StockState;
  /** The same with all winters listed; a copy and costly on a large farm. */
  whole(): StockState;
  /** How far the entries on this device have been read since the app was opened; null when they are. */
  readonly reading: { done: number; total: number } | null;
  today(): string;
  newId(): string;
  /** The person at work, remembered on this phone. */
  readonly author: string;
  chooseAuthor(memberId: string): void;
  /** All or none are kept; resolves when they are on disk. Rejects with SaveFailed. */
  record(...drafts: Draft[]): Promise<Saved[]>;
  /** The same; what screens kept under these keys goes with it, so that no saved form comes back to be saved twice. */
  recordFrom(kept: readonly string[], ...drafts: Draft[]): Promise<Saved[]>;
  void(sha: string, why?: string): Promise<Saved[]>;
  entry(sha: string): LocalEntry | undefined;
  entriesOn(date: string): LocalEntry[];
  /** Entries that a correction dates on this day, whether or not it counts. */
  entriesDatedAnew(date: string): LocalEntry[];
  /** Newest last. */
  entriesFor(key: { lot?: string; crate?: string }): LocalEntry[];
  unsettled(): LocalEntry[];
  stuck(): LocalEntry[];
  /** Sends those again that the farm's computer did not take; resolves when it has answered or cannot be reached. */
  tryStuckAgain(): Promise<void>;
  /** The entries that clear a contradiction in this way, to be recorded. Throws NoWayOut. */
  waysOut(problem: string, out: string, choice: Omit<Choice, "today">): Draft[];
  /** The lots that these entries would change if the person at work wrote them now. */
  whatIf(drafts: readonly Draft[]): LotChange[];
  /** The amounts posted to a lot in its own unit, in the order of its history. */
  postedTo(lot: string): Posting[];
  readonly sync: SyncState;
  /** Calls `fn` after any change; the answer ends it. */
  subscribe(fn: () => void): () => void;
  /** Drafts, rounds, the tray in use: kept over a reload. */
  keep(key: string, value: unknown): Promise<void>;
  kept<T>(key: string): Promise<T | undefined>;
  exportUnsent(): Promise<Blob>;
  exportAll(): Promise<Blob>;
  /** The one door to the network for screens. Rejects with ApiError. */
  api<T>(path: Asked, init?: RequestInit): Promise<T>;
  close(): void;
}

export interface SessionList {
  readonly list: readonly { farm: Farm; device: Device; member: Member }[];
  readonly current: FarmSession | null;
  /** Joins a farm and makes it the current one. */
  enrol(answer: EnrolAnswer): Promise<FarmSession>;
  open(farmId: string): Promise<FarmSession>;
  /** Refused with SignOutRefused while entries are only on this phone. */
  signOut(farmId: string): Promise<void>;
  /**
   * Takes a farm off this device although `lost` entries are only here. Refused with
   * SignOutRefused when by now it is another number: somebody goes on writing.
   */
  erase(farmId: string, lost: number): Promise<void>;
  /** How many entries of a farm are only on this device. */
  unsent(farmId: string): Promise<number>;
  subscribe(fn: () => void): () => void;
}

/** The entry was not kept; `sentence` says so in the words of the person at the crate. */
export class SaveFailed extends Error {
  constructor(
    readonly sentence: string,
    readonly fields: Record<string, string> = {},
    readonly code: "bad_form" | "storage_full" | "not_stored" | "too_large" = "not_stored",
  ) {
    super(sentence);
    this.name = "SaveFailed";
  }
}

export class ApiError extends Error {
  constructor(
    readonly code: string,
    message: string,
    readonly status: number,
    readonly fields: Record<string, string> = {},
    /** Seconds until another try makes sense; null when that was not said. */
    readonly retryAfterS: number | null = null,
  ) {
    super(message);
    this.name = "ApiError";
  }
}

/** Signing out would lose `unsent` entries. */
export class SignOutRefused extends Error {
  constructor(readonly unsent: number) {
    super(
      unsent === 1
        ? "1 entry is only on this phone. Send it or copy it out first."
        : `${unsent} entries are only on this phone. Send them or copy them out first.`,
    );
    this.name = "SignOutRefused";
  }
}
