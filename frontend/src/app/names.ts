/** What things are called on screen, from the stock alone. */
import { isolated } from "../ui/letters.ts";
import type { Crate, FieldValue, Lot, StockState } from "../core/stock/state.ts";

type Table = "varieties" | "places" | "methods" | "crates" | "settings";

/** The row that stands for this one, when somebody said they are the same. */
export function standsFor(state: StockState, table: string, row: string): string {
  const same = state.same[table] ?? {};
  let at = row;
  for (let steps = 0; same[at] && steps < 50; steps += 1) at = same[at] as string;
  return at;
}

export function field(state: StockState, table: Table, row: string, name: string): FieldValue {
  return state.rows[table]?.[standsFor(state, table, row)]?.[name]?.value ?? null;
}

/** A text of a row to be read among others; `text` is what a form begins with. */
function name(state: StockState, table: Table, row: string, field: string): string {
  return isolated(text(state, table, row, field));
}

export function text(state: StockState, table: Table, row: string, name: string): string {
  const value = field(state, table, row, name);
  return value === null ? "" : String(value);
}

/** "4K7QM2X1" → "4K7Q-M2X1" */
export function spaced(code: string): string {
  return code.length === 8 ? `${code.slice(0, 4)}-${code.slice(4)}` : code;
}

export function crateCode(state: StockState, crate: string): string {
  return state.crates[crate]?.code ?? "";
}

/** Its number, else its name, else its code: "12", "North 12", "4K7Q-M2X1". */
export function crateShort(state: StockState, crate: string): string {
  return (
    name(state, "crates", crate, "number") ||
    name(state, "crates", crate, "name") ||
    spaced(crateCode(state, crate)) ||
    "?"
  );
}

/** "Crate 12" */
export function crateName(state: StockState, crate: string): string {
  if (!crate) return "no crate";
  const number = name(state, "crates", crate, "number");
  const called = name(state, "crates", crate, "name");
  if (number && called) return `Crate ${number}, ${called}`;
  if (number) return `Crate ${number}`;
  if (called) return called;
  const code = crateCode(state, crate);
  return code ? `Crate ${spaced(code)}` : "Crate without a number";
}

export function varietyName(state: StockState, variety: string): string {
  if (!variety || variety === "unknown") return "Variety not known";
  return name(state, "varieties", variety, "name") || "Variety without a name";
}

export function placeName(state: StockState, place: string): string {
  return place ? name(state, "places", place, "name") || "Place without a name" : "";
}

export function methodName(state: StockState, method: string): string {
  return method ? name(state, "methods", method, "name") || "Storage method without a name" : "";
}

export interface HeldLot {
  id: string;
  lot: Lot;
}

/** The lots of a crate that have something in them or are below nothing, biggest first. */
export function lotsIn(state: StockState, crate: string): HeldLot[] {
  const ids = state.crates[crate]?.lots ?? [];
  return ids
    .flatMap((id) => {
      const lot = state.lots[id];
      return lot && lot.balance !== 0 ? [{ id, lot }] : [];
    })
    .sort((a, b) => b.lot.balance - a.lot.balance || (a.id < b.id ? -1 : 1));
}

/** Units apart: {tuber: 34, clump: 2}. */
export function countsIn(state: StockState, crate: string): Record<string, number> {
  const counts: Record<string, number> = {};
  for (const { lot } of lotsIn(state, crate)) counts[lot.unit] = (counts[lot.unit] ?? 0) + lot.balance;
  return counts;
}

/** Crates with something in them. */
export function fullCrates(state: StockState): { id: string; crate: Crate }[] {
  return Object.entries(state.crates)
    .map(([id, crate]) => ({ id, crate }))
    .filter(({ id }) => lotsIn(state, id).some(({ lot }) => lot.balance > 0));
}

/** "Stone cellar, shelf 2" */
export function standsAt(state: StockState, crate: string): string {
  const one = state.crates[crate];
  return one ? [placeName(state, one.place), isolated(one.position)].filter(Boolean).join(", ") : "";
}
