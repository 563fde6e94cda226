/**
 * The shape of what the fold knows: integers, strings and booleans only, so that
 * two languages can print it byte for byte alike. Empty text and -1 stand for
 * "not given"; `null` stands for a reading that was not taken.
 */
export type Unit = "clump" | "tuber" | "cutting" | "pot_plant";
export type Stage = "bench" | "drying" | "store" | "spring";
/** 0 or 1: counted as a number so that both languages print the same. */
export type Flag01 = number;
export type Tally = Record<string, number>;

export type Account =
  | "dug" | "divided" | "bought" | "found" | "returned" | "struck" | "rooted" | "potted"
  | "graded" | "transfer_in"
  | "thrown_out" | "gone_out" | "planted" | "used_up" | "transfer_out"
  | "difference";

/** One stretch of time of a lot in one crate, one place, by one method. */
export interface Stay {
  crate: string;
  place: string;
  position: string;
  method: string;
  moisture: string;
  from: string;
  /** "" while the stay goes on. */
  to: string;
  packed_on: string;
  first_crate: string;
  entered: string;
  ended: string;
}

export interface Curing {
  from: string;
  to: string;
  place: string;
  /** -1: not said. */
  washed: number;
  cut: number;
}

export interface Woken {
  on: string;
  place: string;
  showing: number;
}

export interface Lot {
  variety: string;
  unit: string;
  eyes: string;
  grade: string;
  born_on: string;
  /** sha256 of the entry that made the lot. */
  born_by: string;
  parents: string[];
  /** Crate id, or "". */
  container: string;
  balance: number;
  about: Flag01;
  accounts: Tally;
  thrown: Record<string, Tally>;
  out: Tally;
  code: string;
  packed_on: string;
  packed_count: number;
  packed_by: string;
  all_on: string;
  all_count: number;
  looked_on: string;
  look: string;
  counted_on: string;
  counted: number;
  /** `{}` before the lot began to dry off. */
  curing: Curing | Record<string, never>;
  /** `{}` before the lot was brought into the warm. */
  woken: Woken | Record<string, never>;
  quarantined: Flag01;
  flags: Record<string, string>;
  stays: Stay[];
}

export interface Crate {
  place: string;
  position: string;
  since: string;
  method: string;
  moisture: string;
  mass_g: number;
  packed_on: string;
  packed_by: string;
  lots: string[];
  looked_on: string;
  look: string;
  looked_by: string;
  look_again_on: string;
  code: string;
  emptied_on: string;
}

export type FieldValue = string | number | boolean | null;
export interface FieldState {
  value: FieldValue;
  /** sha256 of the entry that set it. */
  by: string;
  on: string;
}
export type Row = Record<string, FieldState>;

export interface CodeState {
  target: string;
  id: string;
  by: string;
}

export interface Posting {
  record: string;
  lot: string;
  unit: string;
  account: string;
  /** Signed: what leaves is negative. */
  amount: number;
  stage: string;
  cause: string;
  how: string;
  on: string;
}

export interface CheckLine {
  lot: string;
  expected: number;
  seen: number;
  all: Flag01;
  removed: Tally;
  noted: Tally;
}

export interface Check {
  crate: string;
  code: string;
  round: string;
  on: string;
  look: string;
  lines: CheckLine[];
  unassigned: Tally;
  moisture: string;
  mass_g: number;
  inside_temp_milli_c: number | null;
  look_again_on: string;
  note: string;
  author: string;
  device: string;
}

export interface Reading {
  place: string;
  crate: string;
  round: string;
  /** ms UTC */
  measured_at: number;
  temp_milli_c: number | null;
  rh_milli_pct: number | null;
  on: string;
}

export interface Round {
  place: string;
  on: string;
  look: string;
  ended: Flag01;
  not_seen: string[];
  seen: string[];
  by: string;
}

export interface Planting {
  variety: string;
  bed: string;
  row: string;
  plants: number;
  on: string;
  from: { lot: string; count: number }[];
  emerged: number;
  missing: number;
  removed: Tally;
  stems: number;
  marks: Tally;
  kept_in_ground: number;
  code: string;
}

export interface Promised {
  variety: string;
  lot: string;
  count: number;
  order: string;
  on: string;
}

export type ProblemCode =
  | "negative_balance" | "date_clamped" | "duplicate_id" | "code_on_two" | "lot_elsewhere"
  | "no_origin" | "sums_differ" | "check_disagrees" | "counts_differ" | "emptied_with_stock"
  | "unassigned_loss" | "not_allowed" | "target_missing" | "bad_correction" | "unknown_code"
  | "promised_short";

export type WayOut =
  | "recount" | "there_were_more" | "void" | "correct" | "accept" | "move_here" | "move_back"
  | "found" | "label" | "count_too";

export interface Problem {
  code: string;
  /** sha256 of the entries that do not agree. */
  records: string[];
  /** sha256 of those whose voiding clears it. */
  voidable: string[];
  facts: Record<string, string | number>;
  outs: string[];
  /** sha256 of the entry that accepted it, or "". */
  accepted: string;
}

export interface StockState {
  lots: Record<string, Lot>;
  crates: Record<string, Crate>;
  /** table → row id → field → value */
  rows: Record<string, Record<string, Row>>;
  /** table → row id → the row it is one with */
  same: Record<string, Record<string, string>>;
  codes: Record<string, CodeState>;
  /** "sha:i" → posting */
  postings: Record<string, Posting>;
  checks: Record<string, Check>;
  readings: Record<string, Reading>;
  rounds: Record<string, Round>;
  plantings: Record<string, Planting>;
  promises: Record<string, Promised>;
  printed: Record<string, number>;
  problems: Record<string, Problem>;
  /** sha256 → why it was set aside */
  held: Record<string, string>;
  /** How many entries need a newer app. */
  unknown: number;
}
