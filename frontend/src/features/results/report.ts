/** The loss report as the farm's computer tells it, and what a screen makes of its rows. */
import type { components } from "../../sync/api-types.d.ts";

export const DIMENSIONS = ["method", "variety", "place", "packing", "moisture"] as const;
export type Dimension = (typeof DIMENSIONS)[number];

type Schemas = components["schemas"];
export type Figure = Schemas["Figure"];
export type CameThrough = Schemas["CameThrough"];
export type LossRow = Schemas["LossRow"];
export type Sentence = Schemas["Sentence"];
export type LossTable = Schemas["LossTable"];
export type LossReport = Omit<Schemas["LossReport"], "by" | "crates"> & {
  by: Dimension;
  /** Crate id: its name. */
  crates: Record<string, string>;
};

export interface KeptReport {
  report: LossReport;
  fetched_at: number;
}

/** "92 %"; never 100 % (or 0 %) unless it is all (or nothing). */
export function percent(share: number): string {
  const rounded = Math.round(share * 100);
  if (rounded === 100 && share < 1) return "over 99 %";
  if (rounded === 0 && share > 0) return "under 1 %";
  return `${rounded} %`;
}

/** Worst first; rows nobody went through last, in their own order. */
export function worstFirst(rows: readonly LossRow[]): LossRow[] {
  return [...rows].sort((a, b) => {
    if (!a.came_through || !b.came_through) return Number(!a.came_through) - Number(!b.came_through);
    return a.came_through.share - b.came_through.share || b.came_through.tubers - a.came_through.tubers;
  });
}

/** "between 60 % and 97 %" */
export function rangeSays(found: CameThrough): string {
  return `between ${percent(found.low)} and ${percent(found.high)}`;
}

/** One sentence that stands for the picture of a row. */
export function rowSays(row: LossRow): string {
  const found = row.came_through;
  if (!found) return `${row.key.label}: ${row.guess || "no counts yet"}`;
  return `${row.key.label}: ${percent(found.share)} came through, ${rangeSays(found)}, ${found.tubers} seen in ${found.crates} ${found.crates === 1 ? "crate" : "crates"}.${row.guess ? ` ${row.guess}` : ""}`;
}

/** "dried up 9, rot 3" */
export function causesOf(row: LossRow): string {
  return row.thrown.map((one) => `${one.words} ${one.count}`).join(", ");
}

/** What is read first: "reconciliation_tuber" and the like. */
export function openingOf(report: LossReport, topic: string): Sentence[] {
  return report.opening.filter((one) => one.topic === topic || one.topic.startsWith(`${topic}_`));
}

const HEADS = [
  "packed", "thrown out", "went out", "not accounted for", "brought out good", "still in store",
  "came through", "from", "to", "crates", "seen", "not seen", "not seen since",
];

/** The tables of a report as lines of cells between tabs, to paste into a spreadsheet; shares 0 to 1. */
export function asText(report: LossReport): string {
  const line = (unit: string, row: LossRow): string =>
    [
      unit, row.key.label, row.packed.count, row.thrown_out, row.went_out, row.missing.count, row.brought_out.count,
      row.in_store.count, row.came_through?.share ?? "", row.came_through?.low ?? "", row.came_through?.high ?? "",
      row.crates.length, row.seen.seen, row.seen.not_seen, row.seen.not_seen_since ?? "",
    ]
      .map((cell) => String(cell).replace(/\s+/g, " "))
      .join("\t");
  const lines = report.tables.flatMap(({ unit_words, rows, everything }) =>
    [...worstFirst(rows), { ...everything, key: { id: "", label: "everything" } }].map((row) => line(unit_words, row)),
  );
  return [["unit", report.by, ...HEADS].join("\t"), ...lines].join("\n");
}

/** Every count of a row that can be opened, in the order of the book. */
export function figuresOf(row: LossRow): { label: string; figure: Figure }[] {
  const all = [
    { label: "Packed", figure: row.packed },
    { label: "Found", figure: row.found },
    ...row.thrown.map((one) => ({ label: `Threw out: ${one.words}`, figure: one })),
    ...row.gone_out.map((one) => ({ label: `Went out: ${one.words}`, figure: one })),
    { label: "Not accounted for", figure: row.missing },
    { label: "Brought out good", figure: row.brought_out },
    { label: "Still in store", figure: row.in_store },
  ];
  return all.filter(({ figure }) => figure.count > 0);
}
