/** Stock that went out comes back; it stands apart until somebody decides. Pure. */
import { CountReader, countIn, given, refused, textIn, type Desk, type Plan } from "../../app/form/plan.ts";
import { NO_FIELDS, type Fields } from "../../app/form/fields.ts";
import { varietyName } from "../../app/names.ts";
import { countOf, w } from "../../app/words/index.svelte.ts";
import type { StockState } from "../../core/stock/state.ts";

export interface ReturnFields extends Fields {
  /** Key of the posting that took it out, or "". */
  went: string;
  variety: string;
  unit: string;
  count: string;
  condition: string;
  container: string;
  lot: string;
  of: string;
  going_out: string;
  code: string;
}

export const noReturn = (): ReturnFields => ({
  ...NO_FIELDS,
  went: "",
  variety: "",
  unit: "tuber",
  count: "",
  condition: "",
  container: "",
  lot: "",
  of: "",
  going_out: "",
  code: "",
});

export interface WentOut {
  value: string;
  label: string;
  note: string;
  lot: string;
  record: string;
  count: number;
}

/** What went out and may come back, newest first. */
export function wentOut(state: StockState, show: (date: string) => string, most = 60): WentOut[] {
  return Object.entries(state.postings)
    .filter(([, one]) => one.account === "gone_out" && ["sold", "given", "shown", "used"].includes(one.how))
    .sort(([a, x], [b, y]) => (x.on < y.on ? 1 : x.on > y.on ? -1 : a < b ? -1 : 1))
    .slice(0, most)
    .map(([value, one]) => ({
      value,
      label: `${countOf(-one.amount, one.unit)} of ${varietyName(state, state.lots[one.lot]?.variety ?? "")}`,
      note: `${(w.ways[one.how] ?? one.how).toLowerCase()} ${show(one.on)}`,
      lot: one.lot,
      record: one.record,
      count: -one.amount,
    }));
}

export function planReturn(fields: ReturnFields, desk: Desk): Plan {
  const reader = new CountReader();
  const posting = desk.state.postings[fields.went];
  const of = posting?.lot ?? fields.of;
  const source = desk.state.lots[of];
  if (!source && !fields.variety) reader.errors["variety"] = "Choose what came back: a going out from the list, or the variety.";
  const count = reader.need("count", fields.count, "Type how many came back.");
  if (reader.failed) return refused(reader.errors);
  const unit = source?.unit ?? fields.unit;
  const name = varietyName(desk.state, source?.variety ?? fields.variety);
  const out = posting ? -posting.amount : null;
  return {
    errors: {},
    warnings: out !== null && count > out ? [`${out} went out then, and ${count} came back: ${count - out} more.`] : [],
    drafts: [
      {
        kind: "returned",
        body: {
          lot: fields.lot || desk.newId(),
          ...given("of", of),
          ...given("going_out", posting?.record ?? fields.going_out),
          count,
          variety: source?.variety || fields.variety || "unknown",
          unit,
          ...given("state", fields.condition),
          ...given("container", fields.container),
          ...given("code", fields.code),
          ...given("note", fields.note.trim()),
        },
      },
    ],
    said: `${countOf(count, unit)} of ${name} came back and stand apart`,
    undone: `they did not come back by the book.`,
  };
}

export function readReturn(body: Record<string, unknown>): Partial<ReturnFields> {
  return {
    variety: textIn(body, "variety"),
    unit: textIn(body, "unit") || "tuber",
    count: countIn(body, "count"),
    condition: textIn(body, "state"),
    container: textIn(body, "container"),
    lot: textIn(body, "lot"),
    of: textIn(body, "of"),
    going_out: textIn(body, "going_out"),
    code: textIn(body, "code"),
  };
}
