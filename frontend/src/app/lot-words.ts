/** What a lot is called, and what its count rests on. */
import type { Lot, StockState } from "../core/stock/state.ts";
import { crateName, spaced, varietyName } from "./names.ts";
import { countOf, w } from "./words/index.svelte.ts";

/** "34 tubers", "~34 tubers" when nobody counted. */
export function lotCount(lot: Pick<Lot, "balance" | "about" | "unit">): string {
  return `${lot.about ? "~" : ""}${countOf(lot.balance, lot.unit)}`;
}

/** "Oddny Larkvane, can't tell yet, crate 12": enough to find it. */
export function lotName(state: StockState, id: string): string {
  const lot = state.lots[id];
  if (!lot) return "a batch that is not on this phone";
  const parts = [varietyName(state, lot.variety)];
  if (lot.eyes === "unsure") parts.push(w.eyes["unsure"] ?? lot.eyes);
  if (lot.grade) parts.push(w.grades[lot.grade] ?? lot.grade);
  if (lot.container) parts.push(crateName(state, lot.container).replace(/^Crate/, "crate"));
  else if (lot.code) parts.push(spaced(lot.code));
  return parts.join(", ");
}

export interface Ground {
  said: string;
  on: string;
}

const CAME_BY: [string, () => string][] = [
  ["dug", () => w.dug],
  ["divided", () => "divided"],
  ["bought", () => "bought"],
  ["found", () => "found"],
  ["returned", () => "came back"],
  ["struck", () => "struck"],
  ["rooted", () => "rooted"],
  ["potted", () => "potted"],
  ["graded", () => "sorted again"],
  ["transfer_in", () => "moved over"],
];

/** How a lot came to be, in one word: "divided". */
export function cameBy(lot: Lot): string {
  if (lot.packed_on && lot.packed_on === lot.born_on) return "packed";
  const found = CAME_BY.find(([account]) => (lot.accounts[account] ?? 0) > 0);
  return found ? found[1]() : "written down";
}

/**
 * What the count rests on, oldest first: packed (or how it came to be), then
 * gone through and counted, then looked at since. A look on top stays a look.
 */
export function groundsOf(lot: Lot): Ground[] {
  const first: Ground = lot.packed_on
    ? { said: "packed", on: lot.packed_on }
    : { said: cameBy(lot), on: lot.born_on };
  const later: Ground[] = [];
  if (lot.all_on) later.push({ said: w.looked["all"] ?? "gone through", on: lot.all_on });
  if (lot.counted_on) later.push({ said: "counted", on: lot.counted_on });
  if (lot.looked_on > lot.all_on) {
    later.push({ said: lot.look === "some" ? (w.looked["some"] ?? "looked at") : "looked at", on: lot.looked_on });
  }
  later.sort((a, b) => (a.on < b.on ? -1 : a.on > b.on ? 1 : 0));
  return [first, ...later.filter((ground) => ground.on >= first.on)].filter((ground) => ground.on);
}

/** "packed 3 Nov, gone through 12 Dec, looked at 14 Jan" */
export function basisOf(lot: Lot, day: (date: string) => string): string {
  return groundsOf(lot)
    .map(({ said, on }) => `${said} ${day(on)}`)
    .join(", ");
}

/** "34 tubers there now", or "used up". */
export function lotLeft(lot: Pick<Lot, "balance" | "about" | "unit">): string {
  return lot.balance === 0 ? "used up" : `${lotCount(lot)} there now`;
}

/** Units apart: "40 tubers, 5 clumps"; "nothing" when there is none. */
export function countsSay(counts: Record<string, number>): string {
  const said = Object.entries(counts).flatMap(([unit, count]) => (count ? [countOf(count, unit)] : []));
  return said.join(", ") || "nothing";
}
