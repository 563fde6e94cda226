/** What waits for a person, as numbers for badges. */
import type { StockState } from "../core/stock/state.ts";
import { fullCrates } from "./names.ts";

/** Contradictions nobody has accepted. */
export function openProblems(state: StockState): number {
  return Object.values(state.problems).filter((one) => !one.accepted).length;
}

export function setAside(state: StockState): number {
  return Object.keys(state.held).length;
}

export function waitingInTodo(state: StockState): number {
  return openProblems(state) + setAside(state);
}

/** Full crates without a printed label, on a farm that prints labels at all. */
export function labelsWaiting(state: StockState): number {
  if (Object.keys(state.printed).length === 0) return 0;
  return fullCrates(state).filter(({ crate }) => !(crate.code && state.printed[crate.code])).length;
}
