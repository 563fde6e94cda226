/** The rows of the stock tables, from the stock alone. */
import type { StockState } from "../../core/stock/state.ts";
import { crateName, lotsIn, methodName, placeName, spaced, standsFor, text, varietyName } from "../../app/names.ts";

export interface CrateRow {
  id: string;
  name: string;
  code: string;
  place: string;
  position: string;
  method: string;
  /** "34 Oddny Larkvane, 6 Pim Haddersley" */
  what: string;
  /** By unit, units never added: {tuber: 40}. */
  counts: Record<string, number>;
  total: number;
  packed_on: string;
  looked_on: string;
  look: string;
  look_again_on: string;
}

export interface LotRow {
  id: string;
  variety: string;
  varietyId: string;
  unit: string;
  eyes: string;
  grade: string;
  count: number;
  about: boolean;
  crate: string;
  crateId: string;
  place: string;
  method: string;
  code: string;
  packed_on: string;
}

export interface VarietyRow {
  id: string;
  name: string;
  form: string;
  size: string;
  color: string;
  counts: Record<string, number>;
  total: number;
  crates: number;
  lots: number;
  thrown: number;
}

export interface PlaceRow {
  id: string;
  name: string;
  sort: string;
  crates: number;
  counts: Record<string, number>;
  total: number;
  /** Longest ago of the last looks at its crates; "" when one was never looked at. */
  oldest: string;
}

const isLive = (state: StockState, table: "crates" | "varieties" | "places", id: string): boolean =>
  state.rows[table]?.[id]?.["archived"]?.value !== true;

const collator = new Intl.Collator(undefined, { numeric: true, sensitivity: "base" });
export const inOrder = (a: string, b: string): number => collator.compare(a, b);

/** Crates that are in use, or all that have a number, name or code. */
export function crateRows(state: StockState, all = false): CrateRow[] {
  const ids = new Set([...Object.keys(state.crates), ...Object.keys(state.rows["crates"] ?? {})]);
  return [...ids]
    .map((id) => crateRow(state, id))
    .filter((row) => all || (row.total !== 0 && isLive(state, "crates", row.id)));
}

export function crateRow(state: StockState, id: string): CrateRow {
  const crate = state.crates[id];
  const counts: Record<string, number> = {};
  const what: string[] = [];
  for (const { lot } of lotsIn(state, id)) {
    counts[lot.unit] = (counts[lot.unit] ?? 0) + lot.balance;
    what.push(`${lot.about ? "~" : ""}${lot.balance} ${varietyName(state, lot.variety)}`);
  }
  return {
    id,
    name: crateName(state, id),
    code: crate?.code ?? "",
    place: placeName(state, crate?.place ?? ""),
    position: crate?.position ?? "",
    method: methodName(state, crate?.method ?? ""),
    what: what.join(", "),
    counts,
    total: Object.values(counts).reduce((sum, count) => sum + count, 0),
    packed_on: crate?.packed_on ?? "",
    looked_on: crate?.looked_on ?? "",
    look: crate?.look ?? "",
    look_again_on: crate?.look_again_on ?? "",
  };
}

/** Lots with something in them (or below nothing), or every lot there ever was. */
export function lotRows(state: StockState, all = false): LotRow[] {
  return Object.keys(state.lots)
    .filter((id) => all || state.lots[id]?.balance !== 0)
    .map((id) => lotRow(state, id));
}

export function lotRow(state: StockState, id: string): LotRow {
  const lot = state.lots[id];
  if (!lot) throw new Error("no such lot");
  const crate = state.crates[lot.container];
  return {
    id,
    variety: varietyName(state, lot.variety),
    varietyId: lot.variety,
    unit: lot.unit,
    eyes: lot.eyes,
    grade: lot.grade,
    count: lot.balance,
    about: lot.about === 1,
    crate: lot.container ? crateName(state, lot.container) : "",
    crateId: lot.container,
    place: placeName(state, crate?.place ?? ""),
    method: methodName(state, lot.packed_on ? (crate?.method ?? "") : ""),
    code: lot.code,
    packed_on: lot.packed_on,
  };
}

/** One row a variety; those that are one with another are counted there. */
export function varietyRows(state: StockState): VarietyRow[] {
  const rows = new Map<string, VarietyRow & { held: Set<string> }>();
  const rowOf = (id: string) => {
    const own = id === "" || id === "unknown" ? "unknown" : standsFor(state, "varieties", id);
    let row = rows.get(own);
    if (!row) {
      row = {
        id: own,
        name: varietyName(state, own),
        form: text(state, "varieties", own, "form"),
        size: text(state, "varieties", own, "size"),
        color: text(state, "varieties", own, "colour"),
        counts: {},
        total: 0,
        crates: 0,
        lots: 0,
        thrown: 0,
        held: new Set(),
      };
      rows.set(own, row);
    }
    return row;
  };
  for (const id of Object.keys(state.rows["varieties"] ?? {})) if (isLive(state, "varieties", id)) rowOf(id);
  for (const lot of Object.values(state.lots)) {
    const row = rowOf(lot.variety);
    row.thrown += lot.accounts["thrown_out"] ?? 0;
    if (lot.balance === 0) continue;
    row.counts[lot.unit] = (row.counts[lot.unit] ?? 0) + lot.balance;
    row.total += lot.balance;
    row.lots += 1;
    if (lot.container) row.held.add(lot.container);
  }
  return [...rows.values()]
    .filter((row) => row.id !== "unknown" || row.lots > 0)
    .map(({ held, ...row }) => ({ ...row, crates: held.size }));
}

/** One row a place, with the crates that stand there and have something in them. */
export function placeRows(state: StockState): PlaceRow[] {
  const crates = crateRows(state);
  const rows: PlaceRow[] = [];
  const ids = Object.keys(state.rows["places"] ?? {}).filter(
    (id) => standsFor(state, "places", id) === id && isLive(state, "places", id),
  );
  const nowhere = crates.some((row) => !state.crates[row.id]?.place);
  for (const id of nowhere ? [...ids, ""] : ids) {
    const mine = cratesAt(state, id);
    const counts: Record<string, number> = {};
    for (const row of mine) for (const [unit, count] of Object.entries(row.counts)) counts[unit] = (counts[unit] ?? 0) + count;
    rows.push({
      id,
      name: id ? placeName(state, id) : "No place written down",
      sort: text(state, "places", id, "sort"),
      crates: mine.length,
      counts,
      total: Object.values(counts).reduce((sum, count) => sum + count, 0),
      oldest: mine.length ? mine.map((row) => row.looked_on).sort()[0] ?? "" : "",
    });
  }
  return rows;
}

/** Crates of a place in the order of the stack: by position, then by number; "" means nowhere known. */
export function cratesAt(state: StockState, place: string): CrateRow[] {
  return crateRows(state)
    .filter((row) => standsFor(state, "places", state.crates[row.id]?.place ?? "") === place)
    .sort((a, b) => inOrder(a.position || "\uffff", b.position || "\uffff") || inOrder(a.name, b.name));
}

/** What a code says after the dash was left out too, for searching. */
export function codeWords(code: string): string {
  return code ? `${spaced(code)} ${code}` : "";
}
