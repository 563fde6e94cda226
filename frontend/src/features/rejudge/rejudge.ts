/** Tubers nobody could tell in autumn are looked at again. Pure. */
import { CountReader, countIn, given, linesIn, refused, sumOf, tallyIn, textIn, without0, type Desk, type Plan } from "../../app/form/plan.ts";
import { NO_FIELDS, type Fields } from "../../app/form/fields.ts";
import { crateName, varietyName } from "../../app/names.ts";
import { countOf } from "../../app/words/index.svelte.ts";
import type { Lot, StockState } from "../../core/stock/state.ts";

export interface RejudgeFields extends Fields {
  lot: string;
  counts: Record<string, string>;
  /** Thrown out for other causes than being blind. */
  others: Record<string, number>;
  /** "" leaves them in the crate they lie in. */
  container: string;
  made: string;
}

export const ROWS = [
  { key: "showing", label: "Eyes showing now" },
  { key: "unsure", label: "Still can't tell" },
  { key: "blind", label: "Blind, thrown out" },
] as const;
export const OTHER_CAUSES = ["rot", "dried_up", "neck_or_eyes_gone", "broken", "other"] as const;

export const noRejudge = (): RejudgeFields => ({ ...NO_FIELDS, lot: "", counts: {}, others: {}, container: "", made: "" });

export const isUnsure = (lot: Lot): boolean => lot.balance > 0 && lot.eyes === "unsure";

/** A lot with eyes showing, of the same variety and origin in the same crate, that these are added to; or "". */
export function addsTo(state: StockState, from: string, container: string): string {
  const unsure = state.lots[from];
  const fits = (lot: Lot) =>
    lot.unit === unsure?.unit &&
    lot.eyes === "showing" &&
    lot.variety === unsure.variety &&
    lot.grade === unsure.grade &&
    lot.container === container &&
    lot.balance > 0 &&
    lot.parents.length === 1 &&
    lot.parents[0] === from;
  return Object.keys(state.lots).sort().find((id) => fits(state.lots[id] as Lot)) ?? "";
}

export function planRejudge(fields: RejudgeFields, desk: Desk): Plan {
  const reader = new CountReader();
  const lot = desk.state.lots[fields.lot];
  if (!lot) reader.errors["lot"] = "Choose which tubers were looked at again.";
  const [showing = 0, unsure = 0, blind = 0] = ROWS.map(({ key }) => reader.read(key, fields.counts[key] ?? "", 0));
  const thrown = without0({ ...fields.others, blind });
  const judged = showing + sumOf(thrown);
  if (lot && !reader.failed && judged + unsure === 0) reader.errors["showing"] = "Type how many show eyes now, are blind, or still cannot be told.";
  if (!lot || reader.failed) return refused(reader.errors);

  const container = fields.container || lot.container;
  const into = fields.made || addsTo(desk.state, fields.lot, container) || desk.newId();
  const of = varietyName(desk.state, lot.variety);
  const over = judged + unsure - lot.balance;
  const body = {
    from: [{ lot: fields.lot, count: judged, ...(sumOf(thrown) > 0 ? { thrown_out: thrown } : {}) }],
    into: showing > 0 || fields.made ? [{ lot: into, count: showing, eyes: "showing", ...given("grade", lot.grade), ...given("container", container) }] : [],
    ...given("note", fields.note.trim()),
  };
  return {
    errors: {},
    warnings:
      over > 0 && !fields.made
        ? [`The book has ${countOf(Math.max(0, lot.balance), lot.unit)} of ${of} here, and you judged ${judged + unsure}: ${over} more. Saved all the same it shows under “doesn't add up”, or write the count down first.`]
        : [],
    drafts: [{ kind: "graded", body }],
    said: `${of}: ${showing} showing eyes, ${blind} blind${container ? `, ${crateName(desk.state, container).replace(/^Crate/, "crate")}` : ""}`,
    undone: `${of} is as before: nobody can tell yet.`,
  };
}

export function readRejudge(body: Record<string, unknown>): Partial<RejudgeFields> {
  const from = linesIn(body, "from")[0] ?? {};
  const into = linesIn(body, "into")[0] ?? {};
  const { blind, ...others } = tallyIn(from, "thrown_out");
  return {
    lot: textIn(from, "lot"),
    counts: { showing: countIn(into, "count"), blind: blind ? String(blind) : "" },
    others,
    container: textIn(into, "container"),
    made: textIn(into, "lot"),
  };
}
