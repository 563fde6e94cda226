/** Part of a batch becomes a batch of its own, usually in another crate. Pure. */
import { CountReader, countIn, given, linesIn, refused, textIn, type Desk, type Plan } from "../../app/form/plan.ts";
import { NO_FIELDS, type Fields } from "../../app/form/fields.ts";
import { crateName, varietyName } from "../../app/names.ts";
import { countOf } from "../../app/words/index.svelte.ts";

export interface SplitFields extends Fields {
  lot: string;
  count: string;
  container: string;
  /** "", "best", "second" */
  grade: string;
  made: string;
}

export const noSplit = (): SplitFields => ({ ...NO_FIELDS, lot: "", count: "", container: "", grade: "", made: "" });

export function planSplit(fields: SplitFields, desk: Desk): Plan {
  const reader = new CountReader();
  const lot = desk.state.lots[fields.lot];
  if (!lot) reader.errors["lot"] = "Choose the batch that is split.";
  const count = reader.need("count", fields.count, "Type how many are taken out of it.");
  if (!fields.container && !fields.grade) reader.errors["container"] = "Choose the crate they go into, or sort them as best or second.";
  if (!lot || reader.failed) return refused(reader.errors);

  const of = varietyName(desk.state, lot.variety);
  const made = fields.made || desk.newId();
  const to = fields.container ? crateName(desk.state, fields.container).replace(/^Crate/, "crate") : "the same crate";
  return {
    errors: {},
    warnings:
      count > lot.balance && !fields.made
        ? [`The book has ${countOf(Math.max(0, lot.balance), lot.unit)} of ${of} here, and you take ${count}. Saved all the same it shows under “doesn't add up”.`]
        : [],
    drafts: [
      {
        kind: "split",
        body: {
          from: [{ lot: fields.lot, count }],
          into: [
            {
              lot: made,
              count,
              ...given("eyes", lot.eyes),
              ...given("grade", fields.grade || lot.grade),
              ...given("container", fields.container || lot.container),
            },
          ],
          ...given("note", fields.note.trim()),
        },
      },
    ],
    said: `${countOf(count, lot.unit)} of ${of} into ${to}, ${Math.max(0, lot.balance - count)} left`,
    undone: `${of} is together again.`,
  };
}

export function readSplit(body: Record<string, unknown>): Partial<SplitFields> {
  const from = linesIn(body, "from")[0] ?? {};
  const into = linesIn(body, "into")[0] ?? {};
  return {
    lot: textIn(from, "lot"),
    count: countIn(from, "count"),
    container: textIn(into, "container"),
    grade: textIn(into, "grade"),
    made: textIn(into, "lot"),
  };
}
