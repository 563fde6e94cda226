/** Small stocks for tests of forms. */
import type { Crate, Lot, StockState } from "../../core/stock/state.ts";
import type { Desk } from "./plan.ts";

export const id = (n: number): string => `00000000-0000-4000-8000-${String(n).padStart(12, "0")}`;

export function lotOf(some: Partial<Lot>): Lot {
  return {
    variety: "unknown", unit: "tuber", eyes: "", grade: "", born_on: "2026-10-10", born_by: "", parents: [],
    container: "", balance: 0, about: 0, accounts: {}, thrown: {}, out: {}, code: "", packed_on: "",
    packed_count: -1, packed_by: "", all_on: "", all_count: -1, looked_on: "", look: "", counted_on: "",
    counted: -1, curing: {}, woken: {}, quarantined: 0, flags: {}, stays: [],
    ...some,
  };
}

export function crateOf(some: Partial<Crate>): Crate {
  return {
    place: "", position: "", since: "", method: "", moisture: "", mass_g: -1, packed_on: "", packed_by: "",
    lots: [], looked_on: "", look: "", looked_by: "", look_again_on: "", code: "", emptied_on: "",
    ...some,
  };
}

export function stockOf(some: Partial<StockState>): StockState {
  return {
    lots: {}, crates: {}, rows: {}, same: {}, codes: {}, postings: {}, checks: {}, readings: {}, rounds: {},
    plantings: {}, promises: {}, printed: {}, problems: {}, held: {}, unknown: 0,
    ...some,
  };
}

export const named = (name: string, field = "name") => ({ [field]: { value: name, by: "a", on: "2026-10-01" } });

/** New ids count up from 900. */
export function deskOf(state: StockState, today = "2026-11-25"): Desk {
  let next = 900;
  return { state, today, newId: () => id(next++) };
}
