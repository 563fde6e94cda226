/** Names that a form brings along: varieties, places, methods and crates nobody wrote down before. Pure. */
import type { FieldState, StockState } from "../../core/stock/state.ts";
import type { Draft } from "../../sync/session.ts";

export interface NewRow {
  table: "varieties" | "places" | "methods" | "crates";
  id: string;
  /** Of a crate: its number, as text. */
  name: string;
  /** A label already stuck on the crate. */
  code?: string;
}

const nameField = (row: NewRow): string => (row.table === "crates" ? "number" : "name");

/** The stock as it will be once the rows are kept, so that lists and sentences know them. */
export function withNewRows(state: StockState, rows: readonly NewRow[]): StockState {
  if (rows.length === 0) return state;
  const tables = { ...state.rows };
  let crates = state.crates;
  for (const row of rows) {
    const value = (text: string): FieldState => ({ value: text, by: "", on: "" });
    const known = tables[row.table] ?? {};
    if (row.name) tables[row.table] = { ...known, [row.id]: { ...known[row.id], [nameField(row)]: value(row.name) } };
    if (row.code && crates[row.id] === undefined) {
      crates = { ...crates, [row.id]: { ...NO_CRATE, code: row.code } };
    }
  }
  return { ...state, rows: tables, crates };
}

const NO_CRATE = {
  place: "", position: "", since: "", method: "", moisture: "", mass_g: -1, packed_on: "", packed_by: "",
  lots: [], looked_on: "", look: "", looked_by: "", look_again_on: "", code: "", emptied_on: "",
};

/** The entries that make those of the rows that `drafts` speak of. */
export function draftsOfRows(rows: readonly NewRow[], drafts: readonly Draft[]): Draft[] {
  const said = JSON.stringify(drafts.map((draft) => draft.body));
  return rows
    .filter((row) => said.includes(row.id))
    .flatMap((row) => [
      ...(row.name
        ? [{ kind: "field_set", body: { table: row.table, row: row.id, field: nameField(row), value: row.name } } as Draft]
        : []),
      ...(row.code ? [{ kind: "labelled", body: { code: row.code, target: "crate", id: row.id } } as Draft] : []),
    ]);
}

/** "13" when the highest number of a crate is 12. */
export function nextCrateNumber(state: StockState): string {
  const numbers = Object.values(state.rows["crates"] ?? {})
    .map((row) => Number(row["number"]?.value))
    .filter((one) => Number.isInteger(one) && one > 0);
  return String(Math.max(0, ...numbers) + 1);
}

/** Printed codes that name nothing yet: labels to stick on. */
export function blankCodes(state: StockState): string[] {
  return Object.keys(state.printed)
    .filter((code) => state.codes[code] === undefined)
    .sort();
}
