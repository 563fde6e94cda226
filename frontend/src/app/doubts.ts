/** Where a contradiction is shown, and which of them speak of a thing or an entry. Pure. */
import type { Problem, StockState } from "../core/stock/state.ts";

/** The page of one contradiction. */
export function doubtHref(key: string): string {
  return `/doubts/${encodeURIComponent(key)}`;
}

/** Crates that a contradiction speaks of: those it names, and the one its batch lies in. */
export function cratesOf(problem: Problem, state: Pick<StockState, "lots">): string[] {
  const { lot, crate, container } = problem.facts;
  const inside = typeof lot === "string" ? state.lots[lot]?.container : "";
  return [...new Set([crate, container, inside])].filter((id): id is string => typeof id === "string" && id !== "");
}

/** Keys of open contradictions that name this crate or one of these lots. */
export function doubtsAbout(state: Pick<StockState, "problems">, crate: string, lots: readonly string[]): string[] {
  return Object.entries(state.problems)
    .filter(([, problem]) => !problem.accepted)
    .filter(([, { facts }]) => {
      const ids = [facts["lot"], facts["crate"], facts["container"]];
      return (crate !== "" && ids.includes(crate)) || lots.some((lot) => facts["lot"] === lot);
    })
    .map(([key]) => key);
}

/** Open contradictions by the hash of each entry that disagrees in them. */
export function doubtsByEntry(problems: Record<string, Problem>): Map<string, string[]> {
  const found = new Map<string, string[]>();
  for (const [key, { accepted, records }] of Object.entries(problems)) {
    if (accepted) continue;
    for (const sha of new Set(records)) found.set(sha, [...(found.get(sha) ?? []), key]);
  }
  return found;
}
