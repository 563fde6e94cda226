/** A batch is counted; what the book differs by is not accounted for, and never given a cause. Pure. */
import { CountReader, countIn, given, refused, textIn, type Desk, type Plan } from "../../app/form/plan.ts";
import { NO_FIELDS, type Fields } from "../../app/form/fields.ts";
import { lotName } from "../../app/lot-words.ts";
import { countOf } from "../../app/words/index.svelte.ts";
import type { Draft } from "../../sync/session.ts";

export interface RecountFields extends Fields {
  /** lot → what was counted, as typed */
  counts: Record<string, string>;
  about: boolean;
  lots: string[];
}

export const noRecount = (): RecountFields => ({ ...NO_FIELDS, counts: {}, about: false, lots: [] });

/** "3 fewer than the book", "as the book says" */
export function differenceWords(book: number, counted: number): string {
  if (counted === book) return "as the book says";
  return counted > book ? `${counted - book} more than the book` : `${book - counted} fewer than the book`;
}

export function planRecount(fields: RecountFields, desk: Desk): Plan {
  const reader = new CountReader();
  const typed = fields.lots.filter((lot) => (fields.counts[lot] ?? "").trim() !== "");
  if (fields.lots.length === 0) reader.errors["lots"] = "Choose what was counted.";
  else if (typed.length === 0) reader.errors[fields.lots[0] ?? "lots"] = "Type what you counted.";
  const counts = typed.map((lot) => ({ lot, count: reader.read(lot, fields.counts[lot] ?? "", 0) }));
  if (reader.failed) return refused(reader.errors);
  const said = counts.map(({ lot, count }) => {
    const one = desk.state.lots[lot];
    return `${lotName(desk.state, lot)}: ${fields.about ? "~" : ""}${countOf(count, one?.unit ?? "tuber")}, ${differenceWords(one?.balance ?? 0, count)}`;
  });
  const before = counts.map(({ lot }) => countOf(desk.state.lots[lot]?.balance ?? 0, desk.state.lots[lot]?.unit ?? "tuber"));
  return {
    errors: {},
    warnings: [],
    drafts: counts.map(
      ({ lot, count }): Draft => ({
        kind: "counted",
        body: { lot, count, ...(fields.about ? { about: true } : {}), ...given("note", fields.note.trim()) },
      }),
    ),
    said: said.join("; "),
    undone: `back to ${before.join(", ")}.`,
  };
}

export function readRecount(body: Record<string, unknown>): Partial<RecountFields> {
  const lot = textIn(body, "lot");
  return { lots: [lot], counts: { [lot]: countIn(body, "count") }, about: body["about"] === true };
}
