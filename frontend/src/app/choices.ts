/** Lists to choose from, and the rows that a choice nobody made before needs. */
import type { Draft } from "../sync/session.ts";
import type { StockState } from "../core/stock/state.ts";
import { crateName, lotsIn, standsFor, text, varietyName } from "./names.ts";

export interface Option {
  value: string;
  label: string;
  note?: string;
}

function live(state: StockState, table: "varieties" | "places" | "methods"): Option[] {
  return Object.keys(state.rows[table] ?? {})
    .filter((id) => standsFor(state, table, id) === id)
    .filter((id) => state.rows[table]?.[id]?.["archived"]?.value !== true)
    .map((id) => ({ value: id, label: text(state, table, id, "name"), note: text(state, table, id, "form") }))
    .filter((option) => option.label)
    .sort((a, b) => a.label.localeCompare(b.label))
    .map(({ value, label, note }) => (note ? { value, label, note } : { value, label }));
}

/** The same list with what was used lately in front. */
export function recentFirst(options: Option[], recent: readonly string[]): Option[] {
  const front = recent.flatMap((id) => options.filter((option) => option.value === id));
  return [...front, ...options.filter((option) => !recent.includes(option.value))];
}

/** Ids used lately on this phone's feed: newest first, each once. */
export function recentOf(state: StockState, what: "variety" | "place" | "method" | "crate", most = 6): string[] {
  const dated: [string, string][] =
    what === "variety"
      ? Object.values(state.lots).map((lot) => [lot.born_on, lot.variety])
      : what === "crate"
        ? Object.entries(state.crates).map(([id, crate]) => [crate.packed_on > crate.looked_on ? crate.packed_on : crate.looked_on, id])
        : Object.values(state.crates).map((crate) => [crate.packed_on, what === "place" ? crate.place : crate.method]);
  dated.sort((a, b) => (a[0] < b[0] ? 1 : a[0] > b[0] ? -1 : 0));
  return [...new Set(dated.map(([, id]) => id))].filter((id) => id && id !== "unknown").slice(0, most);
}

export const varietyOptions = (state: StockState): Option[] => recentFirst(live(state, "varieties"), recentOf(state, "variety"));
export const placeOptions = (state: StockState): Option[] => recentFirst(live(state, "places"), recentOf(state, "place"));
export const methodOptions = (state: StockState): Option[] => recentFirst(live(state, "methods"), recentOf(state, "method"));

/** Every crate that has a number, a name or a code; what is in it as the note. */
export function crateOptions(state: StockState): Option[] {
  const ids = new Set([...Object.keys(state.crates), ...Object.keys(state.rows["crates"] ?? {})]);
  const options = [...ids]
    .filter((id) => state.rows["crates"]?.[id]?.["archived"]?.value !== true)
    .map((id) => ({
      value: id,
      label: crateName(state, id),
      note: lotsIn(state, id).map(({ lot }) => `${lot.balance} ${varietyName(state, lot.variety)}`).join(", ") || "empty",
    }));
  options.sort((a, b) => a.label.localeCompare(b.label, undefined, { numeric: true }));
  return recentFirst(options, recentOf(state, "crate", 3));
}

/** Drafts that make a row with these fields. */
export function rowDrafts(
  table: "varieties" | "places" | "methods" | "crates" | "settings",
  row: string,
  fields: Record<string, string | number | boolean | null>,
): Draft[] {
  return Object.entries(fields).map(([name, value]) => ({
    kind: "field_set",
    body: { table, row, field: name, value },
  }));
}

/** The crate that is called so: by its number, name or code, however written. */
export function crateCalled(state: StockState, words: string): string | undefined {
  const wanted = words.trim().toLowerCase().replace(/^crate\s+/, "");
  const bare = wanted.replace(/[\s-]/g, "").toUpperCase();
  const ids = new Set([...Object.keys(state.rows["crates"] ?? {}), ...Object.keys(state.crates)]);
  for (const id of ids) {
    if (text(state, "crates", id, "number").toLowerCase() === wanted) return id;
    if (text(state, "crates", id, "name").toLowerCase() === wanted) return id;
    if (bare.length === 8 && state.crates[id]?.code === bare) return id;
  }
  return undefined;
}
