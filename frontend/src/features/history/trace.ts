/** Where a lot came from and what it became: lines by distance, from the first planting on. */
import type { Lot, StockState } from "../../core/stock/state.ts";

export interface TraceLine {
  kind: "lot" | "planting";
  id: string;
  /** Steps from the lot asked for: −2 is a grandparent, 1 a child. */
  step: number;
}

/** The planting that a lot was dug from, or "": only the entry that dug it says so. */
export type PlantingOf = (lot: string) => string;

type Thing = Pick<TraceLine, "kind" | "id">;
const MOST = 500;

/** Everything above, farthest first, each once; a history that goes in circles ends. */
export function cameFrom(state: StockState, lot: string, plantingOf: PlantingOf): TraceLine[] {
  const above = (thing: Thing): Thing[] => {
    if (thing.kind === "planting") {
      return (state.plantings[thing.id]?.from ?? []).map((line) => ({ kind: "lot", id: line.lot }));
    }
    const planting = plantingOf(thing.id);
    const parents = (state.lots[thing.id]?.parents ?? []).map((id): Thing => ({ kind: "lot", id }));
    return planting ? [...parents, { kind: "planting", id: planting }] : parents;
  };
  return walk(lot, above, -1).sort((a, b) => a.step - b.step);
}

/** Everything below, nearest first, each once. */
export function became(state: StockState, lot: string, plantingOf: PlantingOf): TraceLine[] {
  const below = new Map<string, Thing[]>();
  const add = (above: string, thing: Thing): void => {
    below.set(above, [...(below.get(above) ?? []), thing]);
  };
  for (const [id, one] of Object.entries(state.lots)) {
    for (const parent of one.parents) add(parent, { kind: "lot", id });
    const planting = (one.accounts["dug"] ?? 0) > 0 ? plantingOf(id) : "";
    if (planting) add(planting, { kind: "lot", id });
  }
  for (const [id, planting] of Object.entries(state.plantings)) {
    for (const line of planting.from) add(line.lot, { kind: "planting", id });
  }
  return walk(lot, (thing) => below.get(thing.id) ?? [], 1);
}

function walk(lot: string, next: (thing: Thing) => Thing[], by: 1 | -1): TraceLine[] {
  const found = new Map<string, TraceLine>();
  let level: Thing[] = [{ kind: "lot", id: lot }];
  for (let step: number = by; level.length > 0 && found.size < MOST; step += by) {
    const fresh = level.flatMap(next).filter((thing) => thing.id !== lot && !found.has(thing.id));
    for (const thing of fresh) found.set(thing.id, { kind: thing.kind, id: thing.id, step });
    level = fresh;
  }
  return [...found.values()];
}

export interface Fate {
  unit: string;
  alive: number;
  thrown: number;
  out: number;
  planted: number;
  missing: number;
}

/** What became of several lots, units apart. */
export function fates(lots: readonly Lot[]): Fate[] {
  const units = [...new Set(lots.map((lot) => lot.unit))];
  return units.map((unit) => {
    const mine = lots.filter((lot) => lot.unit === unit);
    const sum = (account: string): number => mine.reduce((all, lot) => all + (lot.accounts[account] ?? 0), 0);
    return {
      unit,
      alive: mine.reduce((all, lot) => all + Math.max(0, lot.balance), 0),
      thrown: sum("thrown_out"),
      out: sum("gone_out"),
      planted: sum("planted"),
      missing: Math.max(0, -sum("difference")),
    };
  });
}
