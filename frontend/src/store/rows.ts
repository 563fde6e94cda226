/** What lies in a farm's database on this device. */
import type { Segment } from "../core/shelf/library.ts";
import type { Stamp } from "../core/sync/stamp.ts";

/** Where an entry that is not settled stands; settled ones have none. */
export type Due = "saved" | "sent" | "stuck";

export interface RecordRow {
  sha: string;
  /** The entry's text; its bytes where they are no UTF-8 text. Never changed. */
  raw: string | Uint8Array;
  device: string;
  device_seq: number;
  /** Absent once the entry has come back in the feed. */
  due?: Due;
  /** Set with due "stuck": when, by which build, and what the server said. */
  stuck?: { at: number; app: string; code: string };
  /** null until the entry has come back in the feed. */
  seq: number | null;
  held: string | null;
  received_at: number;
  received_on: string;
  recorded_on: string;
  stamp_eff: Stamp | null;
  role: string;
  relayed_by: string | null;
  /** The number of the change to this database that last wrote the row. */
  touched: number;
}

export type NewRow = Omit<RecordRow, "touched">;

/** One entry as the feed gives it, checked. */
export interface FeedRow extends Omit<NewRow, "due" | "stuck" | "seq"> {
  seq: number;
  chain: string;
}

/** What was folded of the rows up to the change number `touched`, packed. */
export interface KeptFold {
  /** Another number after each time it is written. */
  generation: number;
  /** Names the way of folding; another one cannot go on from it. */
  format: string;
  epoch: number;
  touched: number;
  /** Keys of the segments, oldest first. */
  segments: number[];
}

export interface SegmentRow {
  no: number;
  segment: Segment;
}

export interface Cursor {
  seq: number;
  chain: string;
}

export interface Kept {
  key: string;
  value: unknown;
}

export interface FarmRow {
  id: string;
  token: string;
  farm: { id: string; name: string; time_zone: string; as_of: string | null };
  device: { id: string; name: string };
  member: { id: string; name: string; role: string };
  members: { id: string; name: string; role: string }[];
}
