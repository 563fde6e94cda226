import type { StockState } from "../core/stock/state.ts";

/** Scan once something has a label, To do while there are only numbers, first run on an empty farm. */
export function firstPage(state: StockState): string {
  if (Object.keys(state.codes).length > 0) return "/scan";
  const anything = Object.keys(state.lots).length + Object.keys(state.crates).length;
  return anything > 0 ? "/todo" : "/first-run";
}
