/** A row, or part of it, comes out of the ground as whole clumps. Pure. */
import { CountReader, countIn, given, linesIn, refused, textIn, type Desk, type Plan } from "../../app/form/plan.ts";
import { NO_FIELDS, type Fields } from "../../app/form/fields.ts";
import { varietyName } from "../../app/names.ts";
import { countOf, w } from "../../app/words/index.svelte.ts";
import type { Planting, StockState } from "../../core/stock/state.ts";

export interface DigFields extends Fields {
  planting: string;
  bed: string;
  row: string;
  variety: string;
  planted: string;
  /** What became of the plants, by the keys of ROWS. */
  counts: Record<string, string>;
  container: string;
  /** The lot the clumps became; made at saving, kept when corrected. */
  lot: string;
  code: string;
}

export const ROWS = [
  { key: "dug", label: () => `Clumps ${w.dug}` },
  { key: "rotted", label: () => "Rotted in the ground" },
  { key: "no_tubers", label: () => "Plant, but no tubers" },
  { key: "nothing_there", label: () => "Nothing there" },
  { key: "still_in", label: () => "Still in" },
] as const;

export const noDig = (): DigFields => ({
  ...NO_FIELDS,
  planting: "",
  bed: "",
  row: "",
  variety: "",
  planted: "",
  counts: {},
  container: "",
  lot: "",
  code: "",
});

/** "Bed 2 row 4", as far as it was written. */
export function whereWords(bed: string, row: string): string {
  return [bed && `Bed ${bed.replace(/^bed\s+/i, "")}`, row && `row ${row.replace(/^row\s+/i, "")}`].filter(Boolean).join(" ");
}

/** How many plants of the row nothing was said about yet; null without a number planted. */
export function unspoken(fields: DigFields): number | null {
  const reader = new CountReader();
  const planted = reader.read("planted", fields.planted, -1);
  const said = ROWS.reduce((sum, { key }) => sum + reader.read(key, fields.counts[key] ?? "", 0), 0);
  return planted < 0 || reader.failed ? null : planted - said;
}

export function planDig(fields: DigFields, desk: Desk): Plan {
  const reader = new CountReader();
  const planted = reader.read("planted", fields.planted, -1);
  const counts = Object.fromEntries(ROWS.map(({ key }) => [key, reader.read(key, fields.counts[key] ?? "", 0)]));
  if (!fields.variety) reader.errors["variety"] = "Choose the variety. If the tag is gone, choose “Variety not known”.";
  const dug = counts["dug"] ?? 0;
  const misread = ROWS.some(({ key }) => reader.errors[key]);
  if (!misread && Object.values(counts).every((count) => count === 0)) {
    reader.errors["dug"] = `Type how many clumps were ${w.dug}, or what became of the row.`;
  }
  if (reader.failed) return refused(reader.errors);

  const lot = fields.lot || desk.newId();
  const line = { lot, count: dug, ...given("code", fields.code), ...given("container", fields.container) };
  const body = {
    ...given("bed", fields.bed.trim()),
    ...given("row", fields.row.trim()),
    ...given("planting", fields.planting),
    variety: fields.variety,
    ...(planted >= 0 ? { planted } : {}),
    lots: dug > 0 || fields.lot ? [line] : [],
    ...Object.fromEntries(["no_tubers", "rotted", "nothing_there", "still_in"].filter((key) => counts[key]).map((key) => [key, counts[key]])),
    ...given("note", fields.note.trim()),
  };
  const over = -(unspoken(fields) ?? 0);
  const where = whereWords(fields.bed, fields.row);
  const of = varietyName(desk.state, fields.variety);
  return {
    errors: {},
    warnings:
      over > 0
        ? [`${planted} were planted here, and ${planted + over} are written down: ${over} more. Look through the figures, or save if there were more plants.`]
        : [],
    drafts: [{ kind: "dug", body }],
    said: `${where ? `${where}, ` : ""}${countOf(dug, "clump")} of ${of} ${w.dug}`,
    undone: `${where || of} is as before.`,
  };
}

export function readDig(body: Record<string, unknown>): Partial<DigFields> {
  const line = linesIn(body, "lots")[0] ?? {};
  return {
    planting: textIn(body, "planting"),
    bed: textIn(body, "bed"),
    row: textIn(body, "row"),
    variety: textIn(line, "variety") || textIn(body, "variety"),
    planted: countIn(body, "planted"),
    counts: {
      dug: countIn(line, "count"),
      ...Object.fromEntries(["rotted", "no_tubers", "nothing_there", "still_in"].map((key) => [key, countIn(body, key)])),
    },
    container: textIn(line, "container"),
    lot: textIn(line, "lot"),
    code: textIn(line, "code"),
  };
}

/** The next row of the same bed: "4" → "5", "4b" → "". */
export function nextRow(row: string): string {
  return /^\d+$/.test(row.trim()) ? String(Number(row) + 1) : "";
}

export interface PlantedRow {
  id: string;
  one: Planting;
}

/** Rows in the ground that may be dug now, by bed and row. */
export function plantedRows(state: StockState): PlantedRow[] {
  return Object.entries(state.plantings)
    .map(([id, one]) => ({ id, one }))
    .sort((a, b) => `${a.one.bed} ${a.one.row}`.localeCompare(`${b.one.bed} ${b.one.row}`, undefined, { numeric: true }));
}
