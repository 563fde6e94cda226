/** The entries of one day as a person reads them: what each says now, and what was undone or corrected. Pure. */
import { standingOf, type Doubts, type Standing } from "../../app/form/mendings.ts";
import type { StockState } from "../../core/stock/state.ts";
import type { LocalEntry } from "../../sync/session.ts";

export interface DayLine {
  entry: LocalEntry;
  standing: Standing;
  /** "entry" can be undone and corrected, "mending" undone, "name" is a name or setting. */
  sort: "entry" | "mending" | "name";
}

const MENDING = new Set(["record_voided", "record_corrected", "problem_accepted", "held_resolved", "record_reclassified"]);
const NAMES = new Set(["field_set", "same_as", "labelled", "printed"]);

/** Newest first. `around` answers the entries that name one. */
export function dayLines(
  entries: readonly LocalEntry[],
  around: (sha: string) => LocalEntry[],
  doubts: Doubts,
): DayLine[] {
  return [...entries].reverse().map((entry) => ({
    entry,
    standing: standingOf(entry, around(entry.sha), doubts),
    sort: NAMES.has(entry.kind) ? "name" : MENDING.has(entry.kind) ? "mending" : "entry",
  }));
}

/**
 * What was written of this day, and what a correction that counts has put on it since; an entry
 * corrected away to another day stays, and says so. `redated` are those some correction dates here.
 */
export function linesOfDay(
  on: string,
  entries: readonly LocalEntry[],
  redated: readonly LocalEntry[],
  around: (sha: string) => LocalEntry[],
  doubts: Doubts,
): DayLine[] {
  const own = new Set(entries.map((entry) => entry.sha));
  const added = dayLines(redated.filter((entry) => !own.has(entry.sha)), around, doubts);
  return [...added.filter((line) => line.standing.occurred_on === on), ...dayLines(entries, around, doubts)];
}

/** Whether a form can write the entry anew. */
export function isCorrectable(line: DayLine): boolean {
  return line.sort === "entry" && !line.standing.undone && !line.entry.held && line.entry.kind !== "";
}

/** True when a helper's undo would wait for a grower: it is not her own entry. */
export function waitsForGrower(entry: LocalEntry, author: string, role: string): boolean {
  return role === "helper" && entry.author !== author;
}

/** The latest day before this one on which stock was written about, or "". */
export function lastDayBefore(state: Pick<StockState, "postings" | "checks" | "readings">, on: string): string {
  let last = "";
  const tables: Record<string, { on: string }>[] = [state.postings, state.checks, state.readings];
  for (const table of tables) {
    for (const one of Object.values(table)) if (one.on < on && one.on > last) last = one.on;
  }
  return last;
}
