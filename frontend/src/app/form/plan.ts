/** What a form turns into: what is wrong, what is doubtful, and the entries to write. Pure. */
import type { StockState } from "../../core/stock/state.ts";
import type { Draft } from "../../sync/session.ts";
import { parseCount } from "../../ui/index.ts";

/** All a form needs to know beyond what was typed into it. */
export interface Desk {
  state: StockState;
  /** YYYY-MM-DD in the farm's zone. */
  today: string;
  newId: () => string;
}

export interface Plan {
  /** Field → sentence; with any, nothing can be saved. */
  errors: Record<string, string>;
  /** Sentences to read first; saved all the same when the person says so. */
  warnings: string[];
  drafts: Draft[];
  /** "12 clumps from Bed 2 row 4" → "Saved on this phone: 12 clumps from Bed 2 row 4." */
  said: string;
  /** What stands after an undo. */
  undone: string;
}

/** A plan that cannot be saved. */
export const refused = (errors: Record<string, string>): Plan => ({
  errors,
  warnings: [],
  drafts: [],
  said: "",
  undone: "",
});

/** Why a day cannot be written, or "". */
export function dayTrouble(on: string, today: string, show: (date: string) => string): string {
  if (!/^\d{4}-\d{2}-\d{2}$/.test(on)) return "Choose the day it happened.";
  if (on > today) return `That day has not come yet. Today is ${show(today)}: choose today or a day before.`;
  return "";
}

const MOST = 1_000_000;

/** Reads counts of one form and gathers what is wrong with them. */
export class CountReader {
  readonly errors: Record<string, string> = {};

  /** The count, `empty` when nothing was typed; NaN never. */
  read(key: string, text: string, empty: number): number {
    if (text.trim() === "") return empty;
    const count = parseCount(text);
    if (count === null) this.errors[key] = `“${text}” is not a count. Type a whole number such as 12, or 6 x 10.`;
    else if (count > MOST) this.errors[key] = `${text} is more than one entry can hold. Type the count of this crate or row only.`;
    else return count;
    return empty;
  }

  need(key: string, text: string, missing: string): number {
    if (text.trim() === "") {
      this.errors[key] = missing;
      return 0;
    }
    return this.read(key, text, 0);
  }

  get failed(): boolean {
    return Object.keys(this.errors).length > 0;
  }
}

/** The tally without its zeros, as entries want it. */
export function without0(tally: Record<string, number>): Record<string, number> {
  return Object.fromEntries(Object.entries(tally).filter(([, count]) => count > 0));
}

export const sumOf = (tally: Record<string, number>): number =>
  Object.values(tally).reduce((total, count) => total + count, 0);

/** {key: value} where the value was given, else nothing: for optional fields of a body. */
export function given<T>(key: string, value: T | "" | undefined | null): Record<string, T> {
  return value === "" || value === undefined || value === null ? {} : { [key]: value };
}

/** The value of a body as text, a count or a tally; whatever else stands there reads as nothing. */
export const textIn = (body: Record<string, unknown>, key: string): string =>
  typeof body[key] === "string" ? body[key] : "";
export const countIn = (body: Record<string, unknown>, key: string): string =>
  typeof body[key] === "number" ? String(body[key]) : "";
export const linesIn = (body: Record<string, unknown>, key: string): Record<string, unknown>[] =>
  Array.isArray(body[key])
    ? (body[key] as unknown[]).filter((one): one is Record<string, unknown> => typeof one === "object" && one !== null)
    : [];
export function tallyIn(body: Record<string, unknown>, key: string): Record<string, number> {
  const value = body[key];
  if (typeof value !== "object" || value === null) return {};
  return Object.fromEntries(Object.entries(value).filter(([, n]) => typeof n === "number"));
}
