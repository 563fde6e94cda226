/** What is in a crate in one line, and crates in the order of the stack. */
import type { StockState } from "../core/stock/state.ts";
import { crateName, lotsIn, placeName, varietyName } from "./names.ts";
import { countOf } from "./words/index.svelte.ts";

/** "34 tubers · Oddny Larkvane", "60 tubers · 3 varieties", "empty". Units are never added. */
export function contentsLine(state: StockState, crate: string): string {
  const lots = lotsIn(state, crate);
  if (lots.length === 0) return "empty";
  const counts = new Map<string, number>();
  for (const { lot } of lots) counts.set(lot.unit, (counts.get(lot.unit) ?? 0) + lot.balance);
  const names = [...new Set(lots.map(({ lot }) => varietyName(state, lot.variety)))];
  const about = lots.some(({ lot }) => lot.about) ? "~" : "";
  const many = [...counts].map(([unit, n]) => about + countOf(n, unit)).join(", ");
  return `${many} · ${names.length === 1 ? (names[0] ?? "") : `${names.length} varieties`}`;
}

const natural = new Intl.Collator("en", { numeric: true, sensitivity: "base" });

/** By place, then as they stand in the stack, then by name. */
export function stackOrder(state: StockState, crates: readonly string[]): string[] {
  const key = (id: string): [string, string, string] => {
    const crate = state.crates[id];
    return [placeName(state, crate?.place ?? ""), crate?.position ?? "", crateName(state, id)];
  };
  return [...crates].sort((a, b) => {
    const x = key(a);
    const y = key(b);
    return natural.compare(x[0], y[0]) || natural.compare(x[1], y[1]) || natural.compare(x[2], y[2]);
  });
}
