/** What waits for a person, as numbers for badges. */
import type { StockState } from "../core/stock/state.ts";
import { openHeld } from "./held.ts";
import { fullCrates } from "./names.ts";

/** Contradictions nobody has accepted. */
export function openProblems(state: StockState): number {
  return Object.values(state.problems).filter((one) => !one.accepted).length;
}

type Around = Parameters<typeof openHeld>[1];

/** Entries set aside that nobody has decided on. `around` answers the entries that name one. */
export function setAside(state: StockState, around: Around): number {
  return openHeld(state.held, around);
}

export function waitingInTodo(state: StockState, around: Around): number {
  return openProblems(state) + setAside(state, around);
}

/** Full crates without a printed label, on a farm that prints labels at all. */
export function labelsWaiting(state: StockState): number {
  if (Object.keys(state.printed).length === 0) return 0;
  return fullCrates(state).filter(({ crate }) => !(crate.code && state.printed[crate.code])).length;
}
