/** The crates of a round, what it has seen and what it leaves. Pure. */
import { stackOrder } from "../../app/contents.ts";
import { fullCrates } from "../../app/names.ts";
import type { Check, StockState } from "../../core/stock/state.ts";

/** Crates with something in them at a place, as the stack stands. */
export function cratesAt(state: StockState, place: string): string[] {
  const ids = fullCrates(state)
    .filter(({ crate }) => crate.place === place)
    .map(({ id }) => id);
  return stackOrder(state, ids);
}

/** The first crate not seen after the one seen last, else the first not seen at all. */
export function nextCrate(order: readonly string[], seen: readonly string[]): string | undefined {
  const last = seen.at(-1);
  const from = last === undefined ? 0 : order.indexOf(last) + 1;
  const open = (id: string): boolean => !seen.includes(id);
  return order.slice(from).find(open) ?? order.find(open);
}

/** Places with crates, most crates due first: [place, crates]. */
export function placesWithCrates(state: StockState): { place: string; crates: number }[] {
  const counts = new Map<string, number>();
  for (const { crate } of fullCrates(state)) counts.set(crate.place, (counts.get(crate.place) ?? 0) + 1);
  return [...counts].map(([place, crates]) => ({ place, crates }));
}

export interface Outcome {
  not_seen: string[];
  /** Packing felt wet or dry. */
  repack: string[];
  look_again: string[];
  thrown_out: number;
}

const total = (tally: Record<string, number>): number => Object.values(tally).reduce((sum, n) => sum + n, 0);

export function outcomeOf(state: StockState, round: string, order: readonly string[], seen: readonly string[]): Outcome {
  const checks: Check[] = Object.values(state.checks).filter((check) => check.round === round);
  const crates = (wanted: (check: Check) => boolean) => [...new Set(checks.filter(wanted).map((check) => check.crate))];
  return {
    not_seen: order.filter((id) => !seen.includes(id)),
    repack: crates((check) => check.moisture === "wet" || check.moisture === "dry"),
    look_again: crates((check) => check.look_again_on !== ""),
    thrown_out: checks.reduce(
      (sum, check) => sum + total(check.unassigned) + check.lines.reduce((inner, line) => inner + total(line.removed), 0),
      0,
    ),
  };
}

export interface LastReading {
  key: string;
  measured_at: number;
  temp_milli_c: number | null;
  rh_milli_pct: number | null;
}

/** The newest reading of a place that is at most `withinMs` old. */
export function lastReading(state: StockState, place: string, nowMs: number, withinMs: number): LastReading | undefined {
  return Object.entries(state.readings)
    .filter(([, one]) => one.place === place && one.crate === "" && nowMs - one.measured_at <= withinMs && one.measured_at <= nowMs)
    .map(([key, one]) => ({ key, measured_at: one.measured_at, temp_milli_c: one.temp_milli_c, rh_milli_pct: one.rh_milli_pct }))
    .sort((a, b) => b.measured_at - a.measured_at)[0];
}
