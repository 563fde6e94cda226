/** Small stock for tests. */
import type { Lot, StockState } from "../../core/stock/state.ts";

export function emptyState(): StockState {
  return {
    lots: {}, crates: {}, rows: {}, same: {}, codes: {}, postings: {}, checks: {}, readings: {}, rounds: {},
    plantings: {}, promises: {}, printed: {}, problems: {}, held: {}, unknown: 0,
  };
}

export function lotOf(with_: Partial<Lot>): Lot {
  return {
    variety: "", unit: "tuber", eyes: "showing", grade: "", born_on: "2026-11-01", born_by: "", parents: [],
    container: "", balance: 0, about: 0, accounts: {}, thrown: {}, out: {}, code: "", packed_on: "", packed_count: -1,
    packed_by: "", all_on: "", all_count: -1, looked_on: "", look: "", counted_on: "", counted: -1, curing: {},
    woken: {}, quarantined: 0, flags: {}, stays: [], ...with_,
  };
}
