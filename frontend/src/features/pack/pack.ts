/** Tubers or whole clumps are sorted again, counted, and packed into a crate for the winter. Pure. */
import { CountReader, countIn, given, linesIn, refused, sumOf, tallyIn, textIn, without0, type Desk, type Plan } from "../../app/form/plan.ts";
import { NO_FIELDS, type Fields } from "../../app/form/fields.ts";
import { inStock, lotOptions, onBench, type LotOption } from "../../app/form/lot-options.ts";
import { varietyOptions } from "../../app/choices.ts";
import { crateName, varietyName } from "../../app/names.ts";
import { countOf } from "../../app/words/index.svelte.ts";
import type { StockState } from "../../core/stock/state.ts";
import type { Draft } from "../../sync/session.ts";

export interface PackItem {
  /** A lot, or "new:" and a variety that nothing recorded before. */
  from: string;
  unit: string;
  eyes: string;
  /** As typed. Nothing stands there first: counting is the point. */
  count: string;
  about: boolean;
  thrown: Record<string, number>;
  /** Some of the lot stays where it is. */
  part: boolean;
  /** Of an entry being corrected: the lot packed, and what the book had then. */
  lot: string;
  took: number | null;
}

export interface PackFields extends Fields {
  crate: string;
  items: PackItem[];
  method: string;
  moisture: string;
  place: string;
  position: string;
  mass_g: string;
}

export const NEW = "new:";
export const CAUSES = ["rot", "dried_up", "broken", "neck_or_eyes_gone", "blind", "frozen", "eaten", "too_small", "disease", "other", "unknown"] as const;
export const MOISTURES = ["dry", "barely_damp", "damp", "wet"] as const;

export const noPack = (): PackFields => ({
  ...NO_FIELDS,
  crate: "",
  items: [],
  method: "",
  moisture: "",
  place: "",
  position: "",
  mass_g: "",
});

export const noItem = (from: string): PackItem => ({
  from,
  unit: "tuber",
  eyes: "",
  count: "",
  about: false,
  thrown: {},
  part: false,
  lot: "",
  took: null,
});

/** What waits on the bench, then what is in store already, then varieties nothing was written down of. */
export function packOptions(state: StockState, show: (date: string) => string, chosen: readonly PackItem[]): LotOption[] {
  const taken = chosen.map((item) => item.from);
  const bench = lotOptions(state, onBench, show);
  const stored = lotOptions(state, (lot) => inStock(lot) && !onBench(lot), show);
  const fresh = varietyOptions(state).map(({ value, label }) => ({ value: NEW + value, label, note: "not written down before" }));
  return [...bench, ...stored, ...fresh].filter((one) => one.value.startsWith(NEW) || !taken.includes(one.value));
}

export function itemVariety(state: StockState, item: PackItem): string {
  return item.from.startsWith(NEW) ? item.from.slice(NEW.length) : (state.lots[item.from]?.variety ?? "unknown");
}
export function itemUnit(state: StockState, item: PackItem): string {
  return item.from.startsWith(NEW) ? item.unit : (state.lots[item.from]?.unit ?? item.unit);
}
/** By the book before packing; null for stock nothing recorded before. */
export function inBook(state: StockState, item: PackItem): number | null {
  if (item.from.startsWith(NEW)) return null;
  return item.took ?? state.lots[item.from]?.balance ?? null;
}

/** Counted in and thrown out, less what the book has: below 0 is not accounted for. Null when it does not matter. */
export function surplus(state: StockState, item: PackItem): number | null {
  const book = inBook(state, item);
  const reader = new CountReader();
  const count = reader.need("count", item.count, "-");
  if (book === null || reader.failed) return null;
  const over = count + sumOf(item.thrown) - book;
  return item.part ? Math.max(0, over) : over;
}

function draftOf(fields: PackFields, item: PackItem, count: number, last: boolean, mass: number, desk: Desk): Draft {
  const { state } = desk;
  const thrown = without0(item.thrown);
  const book = inBook(state, item);
  const whole = book !== null && !item.part;
  const lot = item.lot || (whole ? item.from : desk.newId());
  const source = state.lots[item.from];
  const taken = whole ? Math.max(0, book) : count + sumOf(thrown);
  const what =
    book === null
      ? { variety: itemVariety(state, item), unit: item.unit, ...given("eyes", item.eyes) }
      : lot === item.from
        ? {}
        : { ...given("eyes", source?.eyes), ...given("grade", source?.grade) };
  return {
    kind: "packed",
    body: {
      ...(book === null
        ? {}
        : { from: [{ lot: item.from, count: taken, ...(sumOf(thrown) > 0 ? { thrown_out: thrown } : {}) }] }),
      crate: fields.crate,
      lots: [{ lot, count, ...what, ...(item.about ? { about: true } : {}) }],
      ...given("method", fields.method),
      ...given("moisture", fields.moisture),
      ...given("place", fields.place),
      ...given("position", fields.position.trim()),
      ...(last && mass >= 0 ? { mass_g: mass } : {}),
      ...given("note", fields.note.trim()),
    },
  };
}

export function planPack(fields: PackFields, desk: Desk): Plan {
  const { state } = desk;
  const reader = new CountReader();
  if (!fields.crate) reader.errors["crate"] = "Choose the crate: its number, or the code on its label. A new number makes a new crate.";
  if (fields.items.length === 0) reader.errors["items"] = "Choose what goes into the crate.";
  const counts = fields.items.map((item, i) =>
    reader.need(`count-${i}`, item.count, `Count ${varietyName(state, itemVariety(state, item))} as you pack it, and type the number.`),
  );
  const mass = reader.read("mass_g", fields.mass_g, -1);
  if (reader.failed) return refused(reader.errors);

  const more = fields.items
    .map((item) => ({ item, over: surplus(state, item) ?? 0 }))
    .filter(({ item, over }) => over > 0 && !item.about);
  const words = fields.items.map((item, i) => `${item.about ? "~" : ""}${countOf(counts[i] ?? 0, itemUnit(state, item))} of ${varietyName(state, itemVariety(state, item))}`);
  const crate = crateName(state, fields.crate);
  return {
    errors: {},
    warnings: more.map(
      ({ item, over }) =>
        `The book has ${inBook(state, item) ?? 0} of ${varietyName(state, itemVariety(state, item))} here and you counted ${over} more. Saved all the same, the ${over} more are ${item.part ? "shown under “doesn't add up”" : "written down as found"}.`,
    ),
    drafts: fields.items.map((item, i) => draftOf(fields, item, counts[i] ?? 0, i === fields.items.length - 1, mass, desk)),
    said: `${crate}: ${words.join(", ")}`,
    undone: `${crate} is as before.`,
  };
}

export function readPack(body: Record<string, unknown>, state: StockState): Partial<PackFields> {
  const from = linesIn(body, "from")[0];
  const items = linesIn(body, "lots").map((line): PackItem => {
    const lot = textIn(line, "lot");
    const thrown = from ? tallyIn(from, "thrown_out") : {};
    const source = from ? textIn(from, "lot") : NEW + (textIn(line, "variety") || state.lots[lot]?.variety || "unknown");
    return {
      ...noItem(source),
      unit: textIn(line, "unit") || "tuber",
      eyes: textIn(line, "eyes"),
      count: countIn(line, "count"),
      about: line["about"] === true,
      thrown,
      part: from !== undefined && lot !== source,
      lot,
      took: from ? Number(from["count"] ?? 0) : null,
    };
  });
  return {
    crate: textIn(body, "crate"),
    items,
    method: textIn(body, "method"),
    moisture: textIn(body, "moisture"),
    place: textIn(body, "place"),
    position: textIn(body, "position"),
    mass_g: countIn(body, "mass_g"),
  };
}
