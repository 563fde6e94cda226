/** Batches to choose from: named so that a grower finds hers, the likely one first. Pure. */
import type { Lot, StockState } from "../../core/stock/state.ts";
import { lotCount, lotName } from "../lot-words.ts";

export interface LotOption {
  value: string;
  label: string;
  note: string;
}

export type LotTest = (lot: Lot) => boolean;

export const inStock: LotTest = (lot) => lot.balance > 0;
export const isPacked = (lot: Lot): boolean => lot.stays.some((stay) => stay.to === "");
/** Came out of the ground or off the knife, and is not in store yet. */
export const onBench: LotTest = (lot) => lot.balance > 0 && !isPacked(lot) && !("on" in lot.woken);
export const isWoken = (lot: Lot): boolean => "on" in lot.woken;
export const isDrying = (lot: Lot): boolean => "from" in lot.curing && lot.curing.from !== "" && lot.curing.to === "";

/** Newest first, so that what was just written is on top; `first` before all. */
export function lotOptions(
  state: StockState,
  fits: LotTest,
  show: (date: string) => string,
  first = "",
): LotOption[] {
  return Object.entries(state.lots)
    .filter(([id, lot]) => id === first || fits(lot))
    .sort(([a, x], [b, y]) =>
      a === first ? -1 : b === first ? 1 : x.born_on < y.born_on ? 1 : x.born_on > y.born_on ? -1 : a < b ? -1 : 1,
    )
    .map(([id, lot]) => ({ value: id, label: lotName(state, id), note: noteOf(lot, show) }));
}

function noteOf(lot: Lot, show: (date: string) => string): string {
  const since = lot.packed_on ? `packed ${show(lot.packed_on)}` : lot.born_on ? show(lot.born_on) : "";
  return [lotCount(lot), since].filter(Boolean).join(" · ");
}

/** The lot a screen was opened for: named in the address, or the only one of the crate named there. */
export function lotAskedFor(state: StockState, query: URLSearchParams): string {
  const lot = query.get("lot");
  if (lot && state.lots[lot]) return lot;
  const inside = lotsOfCrate(state, query.get("crate"));
  return inside.length === 1 ? (inside[0] ?? "") : "";
}

/** Ids of what lies in a crate and is not used up. */
export function lotsOfCrate(state: StockState, crate: string | null): string[] {
  return (crate ? (state.crates[crate]?.lots ?? []) : []).filter((id) => (state.lots[id]?.balance ?? 0) > 0);
}

/** Only what lies in the crate the screen was opened for, when it holds something. */
export function askedFor(state: StockState, query: URLSearchParams, options: LotOption[]): LotOption[] {
  const inside = lotsOfCrate(state, query.get("crate"));
  return inside.length > 0 ? options.filter((one) => inside.includes(one.value)) : options;
}

/** For `start.fits`: there is something in it to work on. */
export function holdsStock(state: StockState, from: "farm" | "crate" | "lot", id: string): boolean {
  if (from === "farm") return true;
  return from === "lot" ? (state.lots[id]?.balance ?? 0) > 0 : lotsOfCrate(state, id).length > 0;
}
