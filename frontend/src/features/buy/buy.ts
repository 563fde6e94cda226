/** Stock comes in from outside. Pure. */
import { CountReader, countIn, given, refused, textIn, type Desk, type Plan } from "../../app/form/plan.ts";
import { NO_FIELDS, type Fields } from "../../app/form/fields.ts";
import { varietyName } from "../../app/names.ts";
import { countOf } from "../../app/words/index.svelte.ts";

export interface BuyFields extends Fields {
  variety: string;
  unit: string;
  count: string;
  eyes: string;
  supplier: string;
  papers: string;
  container: string;
  lot: string;
  code: string;
}

export const UNITS = ["tuber", "clump", "pot_plant", "cutting"] as const;
export const noBuy = (): BuyFields => ({
  ...NO_FIELDS,
  variety: "",
  unit: "tuber",
  count: "",
  eyes: "",
  supplier: "",
  papers: "",
  container: "",
  lot: "",
  code: "",
});

export function planBuy(fields: BuyFields, desk: Desk): Plan {
  const reader = new CountReader();
  if (!fields.variety) reader.errors["variety"] = "Choose the variety, or type a new one.";
  const count = reader.need("count", fields.count, "Type how many came in.");
  if (reader.failed) return refused(reader.errors);
  const what = `${countOf(count, fields.unit)} of ${varietyName(desk.state, fields.variety)}`;
  return {
    errors: {},
    warnings: [],
    drafts: [
      {
        kind: "bought",
        body: {
          lot: fields.lot || desk.newId(),
          variety: fields.variety,
          unit: fields.unit,
          count,
          ...given("eyes", fields.eyes),
          ...given("supplier", fields.supplier.trim()),
          ...given("papers", fields.papers.trim()),
          ...given("container", fields.container),
          ...given("code", fields.code),
          ...given("note", fields.note.trim()),
        },
      },
    ],
    said: `bought ${what}`,
    undone: `${what} are not in the book.`,
  };
}

export function readBuy(body: Record<string, unknown>): Partial<BuyFields> {
  return {
    variety: textIn(body, "variety"),
    unit: textIn(body, "unit") || "tuber",
    count: countIn(body, "count"),
    eyes: textIn(body, "eyes"),
    supplier: textIn(body, "supplier"),
    papers: textIn(body, "papers"),
    container: textIn(body, "container"),
    lot: textIn(body, "lot"),
    code: textIn(body, "code"),
  };
}
