/** An entry as it counts now: alive, with its corrections, and with its place in the order. */
import type { Birth, Placement } from "./facts.ts";
import type { Amount } from "./ledger.ts";
import type { Body, OrderKey } from "./entries.ts";
import type { FieldValue } from "./state.ts";
import type { Stamp } from "../sync/stamp.ts";

export type Counts = Record<string, number>;

export interface FromLine {
  lot: string;
  count: number;
  thrown_out?: Counts;
}

export interface IntoLine {
  lot: string;
  count: number;
  variety?: string;
  unit?: string;
  eyes?: string;
  grade?: string;
  container?: string;
  code?: string;
  about?: boolean;
}

export interface SeenLine {
  lot: string;
  expected?: number;
  seen?: number;
  all?: boolean;
  removed?: Counts;
  noted?: Counts;
}

export interface ReadingLine {
  measured_at: number;
  temp_c?: number;
  rh_pct?: number;
}

/** The fields of all kinds. Which of them are there is what the kind's schema says. */
export interface ActBody {
  from?: FromLine[];
  into?: IntoLine[];
  lines?: SeenLine[];
  /** Ids in curing and emptied, lines in dug and packed. */
  lots?: (string | IntoLine)[];
  readings?: ReadingLine[];
  codes?: string[];
  not_seen?: string[];
  discarded?: Counts;
  removed?: Counts;
  thrown_out?: Counts;
  unassigned?: Counts;
  lot?: string;
  of?: string;
  crate?: string;
  container?: string;
  planting?: string;
  from_planting?: string;
  place?: string;
  position?: string;
  method?: string;
  moisture?: string;
  variety?: string;
  unit?: string;
  eyes?: string;
  grade?: string;
  code?: string;
  target?: string;
  id?: string;
  flag?: string;
  state?: string;
  how?: string;
  order?: string;
  round?: string;
  look?: string;
  look_again_on?: string;
  note?: string;
  bed?: string;
  row?: string;
  mark?: string;
  table?: string;
  field?: string;
  value?: FieldValue;
  count?: number;
  plants?: number;
  missing?: number;
  stems?: number;
  showing?: number;
  copies?: number;
  mass_g?: number;
  inside_temp_c?: number;
  about?: boolean;
  back?: boolean;
  washed?: boolean;
  cut?: boolean;
}

export interface Act {
  readonly sha256: string;
  readonly kind: string;
  readonly body: ActBody;
  readonly on: string;
  readonly key: OrderKey;
  /** The date it says lies after the day it was received. */
  readonly clamped: boolean;
  readonly author: string;
  readonly device: string;
  readonly seq: number;
  readonly role: string;
  readonly stamp: Stamp;
  /** The body with every field its writer gave it, and its version. */
  readonly source: Body;
  readonly v: number;
  /** What was worked out from the body alone; kept only where that is long. */
  memo?: { births?: Birth[]; placements?: Placement[]; postings?: Amount[] };
}

/** What is longer than this is worked out once and kept; the rest costs more to keep than to do again. */
const WORTH_KEEPING = 4;

/** The value of `name` in the act's memo, worked out when it is not there. */
export function remembered<N extends "births" | "placements" | "postings">(
  act: Act,
  name: N,
  workOut: (act: Act) => Required<NonNullable<Act["memo"]>>[N],
): Required<NonNullable<Act["memo"]>>[N] {
  const known = act.memo?.[name];
  if (known !== undefined) return known as Required<NonNullable<Act["memo"]>>[N];
  const found = workOut(act);
  if (found.length > WORTH_KEEPING) (act.memo ??= {})[name] = found as never;
  return found;
}

/** Whether an act reads the same as another. Bodies are the same when they are one object. */
export function sameAct(a: Act | undefined, b: Act | undefined): boolean {
  if (a === undefined || b === undefined) return a === b;
  return (
    a.source === b.source &&
    a.kind === b.kind &&
    a.v === b.v &&
    a.clamped === b.clamped &&
    a.role === b.role &&
    a.stamp[0] === b.stamp[0] &&
    a.stamp[1] === b.stamp[1] &&
    a.key.every((part, i) => part === b.key[i])
  );
}

/** The lines of `lots` where they are lines. */
export function lotLines(body: ActBody): IntoLine[] {
  return (body.lots ?? []).filter((line): line is IntoLine => typeof line !== "string");
}

/** The ids of `lots` where they are ids. */
export function lotIds(body: ActBody): string[] {
  return (body.lots ?? []).filter((line): line is string => typeof line === "string");
}

export function sumOf(counts: Counts | undefined): number {
  let sum = 0;
  for (const count of Object.values(counts ?? {})) sum += count;
  return sum;
}

/** A table keyed by words people or phones chose: without the keys every object has. */
export function blankTable<T>(): Record<string, T> {
  return Object.create(null) as Record<string, T>;
}
