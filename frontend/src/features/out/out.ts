/** Stock leaves the farm or its store: sold, given, shown, heap, bin, burned, used. Pure. */
import { CountReader, countIn, given, refused, textIn, type Desk, type Plan } from "../../app/form/plan.ts";
import { NO_FIELDS, type Fields } from "../../app/form/fields.ts";
import { varietyName } from "../../app/names.ts";
import { countOf, w } from "../../app/words/index.svelte.ts";

export interface OutFields extends Fields {
  lot: string;
  count: string;
  how: string;
  sale: string;
  order: string;
}

export const WAYS = ["sold", "given", "shown", "used", "heap", "bin", "burned"] as const;
/** Ways that are a loss: threw out by cause says more. */
export const DISCARDED = new Set<string>(["heap", "bin", "burned"]);
export const noOut = (): OutFields => ({ ...NO_FIELDS, lot: "", count: "", how: "", sale: "", order: "" });

export function planOut(fields: OutFields, desk: Desk, correcting = false): Plan {
  const reader = new CountReader();
  const lot = desk.state.lots[fields.lot];
  if (!lot) reader.errors["lot"] = "Choose what went out.";
  const count = reader.need("count", fields.count, "Type how many went out.");
  if (!fields.how) reader.errors["how"] = "Say how it went out.";
  if (!lot || reader.failed) return refused(reader.errors);
  const of = varietyName(desk.state, lot.variety);
  const barred = ["sold", "given"].includes(fields.how) && desk.state.rows["varieties"]?.[lot.variety]?.["may_not_sell"]?.value === true;
  return {
    errors: {},
    warnings: [
      ...(count > lot.balance && !correcting
        ? [`The book has ${countOf(Math.max(0, lot.balance), lot.unit)} of ${of} here, and ${count} go out. Saved all the same it shows under “doesn't add up”.`]
        : []),
      ...(barred ? [`${of} is marked as one you may not sell on.`] : []),
      ...(lot.quarantined && !DISCARDED.has(fields.how) ? [`These came back from somebody and stand apart until you decide.`] : []),
    ],
    drafts: [
      {
        kind: "gone_out",
        body: {
          lot: fields.lot,
          count,
          how: fields.how,
          // A sale gets its id here; buyer and price stand beside it, off the log.
          ...given("sale", fields.sale || (fields.how === "sold" ? desk.newId() : "")),
          ...given("order", fields.order),
          ...given("note", fields.note.trim()),
        },
      },
    ],
    said: `${w.ways[fields.how] ?? fields.how}: ${countOf(count, lot.unit)} of ${of}, ${Math.max(0, lot.balance - count)} left`,
    undone: `${of} is back to ${lot.balance}.`,
  };
}

export function readOut(body: Record<string, unknown>): Partial<OutFields> {
  return {
    lot: textIn(body, "lot"),
    count: countIn(body, "count"),
    how: textIn(body, "how"),
    sale: textIn(body, "sale"),
    order: textIn(body, "order"),
  };
}
