/** What stands on the check drawer, and the records it becomes. Pure. */
import type { Look } from "../../app/looks.ts";
import type { StockState, Tally } from "../../core/stock/state.ts";
import type { Draft } from "../../sync/session.ts";
import { lotsIn } from "../../app/names.ts";

export interface FormLine {
  lot: string;
  /** By the book when the drawer opened. */
  expected: number;
  removed: Tally;
  noted: Tally;
  /** How many were looked at, for "some". */
  seen: number;
  /** What is in there now by a recount; null was not counted. */
  counted: number | null;
}

export interface CheckForm {
  crate: string;
  code: string;
  look: Look;
  lines: FormLine[];
  /** Thrown out, and nobody can say of which lot. */
  unassigned: Tally;
  /** Kept with a sign, for the crate as a whole. */
  signs: string[];
  inside_temp: string;
  moisture: string;
  mass_g: string;
  look_again_on: string;
  note: string;
  occurred_on: string;
}

export const FIRST_CAUSES = ["rot", "dried_up", "frozen", "eaten"] as const;
export const MORE_CAUSES = ["neck_or_eyes_gone", "other", "unknown"] as const;
/** Of single tubers, tapped once each. */
export const TUBER_SIGNS = ["wrinkled", "mould_wiped", "trimmed", "sprouting"] as const;
/** Of the whole crate. */
export const CRATE_SIGNS = ["misted", "aired", "repacked"] as const;
const USUALLY_SEEN = 10;

export function sum(tally: Tally): number {
  return Object.values(tally).reduce((total, n) => total + n, 0);
}

export function newForm(state: StockState, of: { crate: string; code: string }, look: Look): CheckForm {
  return {
    ...of,
    look,
    lines: lotsIn(state, of.crate)
      .filter(({ lot }) => lot.balance > 0)
      .map(({ id, lot }) => ({
        lot: id,
        expected: lot.balance,
        removed: {},
        noted: {},
        seen: Math.min(USUALLY_SEEN, lot.balance),
        counted: null,
      })),
    unassigned: {},
    signs: [],
    inside_temp: "",
    moisture: "",
    mass_g: "",
    look_again_on: "",
    note: "",
    occurred_on: "",
  };
}

/** Anything but how far the look went. */
export function isChanged(form: CheckForm): boolean {
  return (
    form.lines.some((line) => sum(line.removed) > 0 || sum(line.noted) > 0 || line.counted !== null) ||
    sum(form.unassigned) > 0 ||
    form.signs.length > 0 ||
    [form.inside_temp, form.moisture, form.mass_g, form.look_again_on, form.note].some(Boolean)
  );
}

function bump(tally: Tally, key: string, by: number): Tally {
  const next = Math.max(0, (tally[key] ?? 0) + by);
  const { [key]: _, ...rest } = tally;
  return next > 0 ? { ...rest, [key]: next } : rest;
}

/** One more (or less) thrown out; lot "" is "can't say which". */
export function throwOut(form: CheckForm, lot: string, cause: string, by: number): CheckForm {
  if (lot === "") return { ...form, unassigned: bump(form.unassigned, cause, by) };
  return {
    ...form,
    lines: form.lines.map((line) => (line.lot === lot ? { ...line, removed: bump(line.removed, cause, by) } : line)),
  };
}

export function noteSign(form: CheckForm, lot: string, sign: string, by: number): CheckForm {
  return {
    ...form,
    lines: form.lines.map((line) => (line.lot === lot ? { ...line, noted: bump(line.noted, sign, by) } : line)),
  };
}

/** Good ones in a line now. */
export function goodIn(line: FormLine): number {
  return line.counted ?? line.expected - sum(line.removed);
}

export function good(form: CheckForm): number {
  return form.lines.reduce((total, line) => total + goodIn(line), 0) - sum(form.unassigned);
}

export function expected(form: CheckForm): number {
  return form.lines.reduce((total, line) => total + line.expected, 0);
}

export function thrownOut(form: CheckForm): Tally {
  const all: Tally = { ...form.unassigned };
  for (const line of form.lines)
    for (const [cause, n] of Object.entries(line.removed)) all[cause] = (all[cause] ?? 0) + n;
  return all;
}

/** Where one finger tap of a cause goes when one lot is the only one; "" when a person must say. */
export function onlyLot(form: CheckForm): string {
  return form.lines.length === 1 ? (form.lines[0]?.lot ?? "") : "";
}

/** Lines in which more was found than the book says there was: [lot, found]. */
export function overfull(form: CheckForm): { lot: string; expected: number; found: number }[] {
  return form.lines.flatMap((line) => {
    const found = Math.max(0, goodIn(line)) + sum(line.removed);
    return found > line.expected ? [{ lot: line.lot, expected: line.expected, found }] : [];
  });
}

export interface Extras {
  round: string;
  inside_temp_c: number | null;
  mass_g: number | null;
  today: string;
}

/** The check, then a count for every line that was counted; in one go. */
export function draftsOf(form: CheckForm, extras: Extras): Draft[] {
  const on = form.occurred_on && form.occurred_on !== extras.today ? { occurred_on: form.occurred_on } : {};
  const counted = form.lines.filter((line) => line.counted !== null);
  // A recount of every lot means that the crate was gone through.
  const look: Look = form.lines.length > 0 && counted.length === form.lines.length ? "all" : form.look;
  const check: Draft = {
    kind: "checked",
    body: {
      ...(form.crate ? { crate: form.crate } : {}),
      ...(form.code && !form.crate ? { code: form.code } : {}),
      ...(extras.round ? { round: extras.round } : {}),
      look,
      lines: form.lines.map((line) => lineBody(line, look, form.signs)),
      ...(sum(form.unassigned) > 0 ? { unassigned: form.unassigned } : {}),
      ...(extras.inside_temp_c !== null ? { inside_temp_c: extras.inside_temp_c } : {}),
      ...(form.moisture ? { moisture: form.moisture } : {}),
      ...(extras.mass_g !== null ? { mass_g: extras.mass_g } : {}),
      ...(form.look_again_on ? { look_again_on: form.look_again_on } : {}),
      ...(form.note.trim() ? { note: form.note.trim() } : {}),
    },
    ...on,
  };
  const settled = [...counted.map((line) => [line.lot, line.counted ?? 0] as const), ...raised(form)];
  const counts: Draft[] = settled.map(([lot, count]) => ({ kind: "counted", body: { lot, count }, ...on }));
  return [check, ...counts];
}

/** Lines where more was thrown out than there was: nothing is left, and that is a count. */
function raised(form: CheckForm): (readonly [string, number])[] {
  return form.lines
    .filter((line) => line.counted === null && goodIn(line) < 0)
    .map((line) => [line.lot, 0] as const);
}

function lineBody(line: FormLine, look: Look, signs: readonly string[]): object {
  const left = Math.max(1, goodIn(line));
  const noted: Tally = { ...line.noted };
  for (const sign of signs) noted[sign] = left;
  const found = Math.max(0, goodIn(line)) + sum(line.removed);
  const seen = look === "all" ? { seen: found, all: true } : look === "some" ? { seen: Math.max(line.seen, sum(line.removed)) } : {};
  return {
    lot: line.lot,
    expected: line.expected,
    ...seen,
    ...(sum(line.removed) > 0 ? { removed: line.removed } : {}),
    ...(sum(noted) > 0 ? { noted } : {}),
  };
}
