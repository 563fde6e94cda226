/** What waits for a label. */
import type { StockState } from "../../core/stock/state.ts";

export interface Waiting {
  id: string;
  code: string;
}

/** Crates with something in them whose label was never printed, those packed last in front. */
export function cratesWaiting(state: StockState): Waiting[] {
  return Object.entries(state.crates)
    .filter(([, crate]) => crate.lots.some((lot) => (state.lots[lot]?.balance ?? 0) > 0))
    .filter(([, crate]) => !(crate.code && state.printed[crate.code]))
    .sort(([a, one], [b, other]) => (one.packed_on < other.packed_on ? 1 : one.packed_on > other.packed_on ? -1 : a < b ? -1 : 1))
    .map(([id, crate]) => ({ id, code: crate.code }));
}

/** Lots that came to be on this day, hold something and have no printed label. */
export function lotsWaiting(state: StockState, today: string): Waiting[] {
  return Object.entries(state.lots)
    .filter(([, lot]) => lot.born_on === today && lot.balance > 0 && !(lot.code && state.printed[lot.code]))
    .map(([id, lot]) => ({ id, code: lot.code }));
}

/** Blank labels that were printed and that nothing carries yet. */
export function blanksAhead(state: StockState): string[] {
  return Object.keys(state.printed).filter((code) => !state.codes[code]);
}
