import type { StockState } from "../../core/stock/state.ts";

/** Keys of open contradictions that name this crate or one of these lots. */
export function problemsOf(state: StockState, crate: string, lots: readonly string[]): string[] {
  return Object.entries(state.problems)
    .filter(([, problem]) => !problem.accepted)
    .filter(([, { facts }]) => {
      const ids = [facts["lot"], facts["crate"], facts["container"]];
      return (crate !== "" && ids.includes(crate)) || lots.some((lot) => facts["lot"] === lot);
    })
    .map(([key]) => key);
}
