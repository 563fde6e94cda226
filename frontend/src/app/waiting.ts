/** What waits for a person, as numbers for badges. */
import type { StockState } from "../core/stock/state.ts";

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
