/** Stock goes into the ground: one planting for each variety of a row. Pure. */
import { CountReader, countIn, given, linesIn, refused, textIn, type Desk, type Plan } from "../../app/form/plan.ts";
import { NO_FIELDS, type Fields } from "../../app/form/fields.ts";
import { lotName } from "../../app/lot-words.ts";
import { varietyName } from "../../app/names.ts";
import { countOf } from "../../app/words/index.svelte.ts";
import type { StockState } from "../../core/stock/state.ts";
import type { Draft } from "../../sync/session.ts";

export interface PlantFields extends Fields {
  bed: string;
  row: string;
  lots: string[];
  counts: Record<string, string>;
  spacing_cm: string;
  /** Bought plants, when no lot of ours was planted. */
  variety: string;
  plants: string;
  supplier: string;
  planting: string;
}

export const noPlant = (): PlantFields => ({
  ...NO_FIELDS,
  bed: "",
  row: "",
  lots: [],
  counts: {},
  spacing_cm: "",
  variety: "",
  plants: "",
  supplier: "",
  planting: "",
});

interface Sown {
  lot: string;
  count: number;
}

/** Lots by variety, in the order they were chosen. */
function byVariety(state: StockState, sown: Sown[]): [string, Sown[]][] {
  const groups = new Map<string, Sown[]>();
  for (const one of sown) {
    const variety = state.lots[one.lot]?.variety || "unknown";
    groups.set(variety, [...(groups.get(variety) ?? []), one]);
  }
  return [...groups];
}

export function planPlant(fields: PlantFields, desk: Desk, correcting = false): Plan {
  const { state } = desk;
  const reader = new CountReader();
  const sown = fields.lots.map((lot) => ({
    lot,
    count: reader.need(lot, fields.counts[lot] ?? "", `Type how many of ${lotName(state, lot)} were planted.`),
  }));
  const bare = fields.lots.length === 0;
  const plants = bare ? reader.read("plants", fields.plants, 0) : 0;
  const spacing = reader.read("spacing_cm", fields.spacing_cm, -1);
  if (bare && !fields.variety) reader.errors["lots"] = "Choose what was planted, or name the variety of plants you bought.";
  if (bare && fields.variety && plants === 0) reader.errors["plants"] = "Type how many plants went in.";
  if (!fields.bed.trim()) reader.errors["bed"] = "Type the bed, as you call it.";
  const groups = byVariety(state, sown);
  if (correcting && groups.length > 1) reader.errors["lots"] = "One entry holds one variety. Write the other variety down as an entry of its own.";
  if (reader.failed) return refused(reader.errors);

  const ground = {
    bed: fields.bed.trim(),
    ...given("row", fields.row.trim()),
    ...(spacing >= 0 ? { spacing_cm: spacing } : {}),
  };
  const all: [string, Sown[]][] = bare ? [[fields.variety, []]] : groups;
  const drafts = all.map(
    ([variety, from], i): Draft => ({
      kind: "planted",
      body: {
        planting: (i === 0 && fields.planting) || desk.newId(),
        ...ground,
        variety,
        ...(bare ? given("supplier", fields.supplier.trim()) : { from }),
        plants: bare ? plants : from.reduce((sum, one) => sum + one.count, 0),
        ...given("note", fields.note.trim()),
      },
    }),
  );
  const short = sown.filter(({ lot, count }) => count > (state.lots[lot]?.balance ?? 0));
  const total = bare ? plants : sown.reduce((sum, one) => sum + one.count, 0);
  return {
    errors: {},
    warnings: correcting
      ? []
      : short.map(({ lot, count }) => `The book has ${Math.max(0, state.lots[lot]?.balance ?? 0)} of ${lotName(state, lot)}, and ${count} were planted. Saved all the same it shows under “doesn't add up”.`),
    drafts,
    said: `planted ${countOf(total, "plant")} of ${all.map(([variety]) => varietyName(state, variety)).join(", ")} in bed ${fields.bed.trim()}${fields.row.trim() ? ` row ${fields.row.trim()}` : ""}`,
    undone: "nothing was planted there by the book.",
  };
}

export function readPlant(body: Record<string, unknown>): Partial<PlantFields> {
  const from = linesIn(body, "from");
  return {
    bed: textIn(body, "bed"),
    row: textIn(body, "row"),
    lots: from.map((line) => textIn(line, "lot")),
    counts: Object.fromEntries(from.map((line) => [textIn(line, "lot"), countIn(line, "count")])),
    spacing_cm: countIn(body, "spacing_cm"),
    variety: textIn(body, "variety"),
    plants: countIn(body, "plants"),
    supplier: textIn(body, "supplier"),
    planting: textIn(body, "planting"),
  };
}
