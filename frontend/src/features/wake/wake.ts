/** A batch is brought into the warm; may be written again as eyes show; may go back into store. Pure. */
import { CountReader, countIn, given, refused, sumOf, tallyIn, textIn, without0, type Desk, type Plan } from "../../app/form/plan.ts";
import { NO_FIELDS, type Fields } from "../../app/form/fields.ts";
import { varietyName } from "../../app/names.ts";
import { w } from "../../app/words/index.svelte.ts";
import { daysBetween } from "../../ui/index.ts";
import type { Lot, StockState } from "../../core/stock/state.ts";

export interface WakeFields extends Fields {
  lot: string;
  place: string;
  counts: Record<string, string>;
  others: Record<string, number>;
  back: boolean;
}

export const ROWS = [
  { key: "showing", label: "Eyes showing so far" },
  { key: "blind", label: "Blind, thrown out now" },
  { key: "rot", label: "Rotten, thrown out now" },
] as const;
export const OTHER_CAUSES = ["dried_up", "frozen", "neck_or_eyes_gone", "eaten", "other"] as const;
export const noWake = (): WakeFields => ({ ...NO_FIELDS, lot: "", place: "", counts: {}, others: {}, back: false });

export interface Waking {
  id: string;
  lot: Lot;
  days: number;
  showing: number;
}

/** What stands in the warm, the longest first. */
export function waking(state: StockState, today: string): Waking[] {
  return Object.entries(state.lots)
    .filter(([, lot]) => lot.balance > 0)
    .flatMap(([id, lot]) =>
      "on" in lot.woken ? [{ id, lot, days: daysBetween(lot.woken.on, today), showing: Math.max(0, lot.woken.showing) }] : [],
    )
    .sort((a, b) => b.days - a.days || (a.id < b.id ? -1 : 1));
}

export function planWake(fields: WakeFields, desk: Desk, correcting = false): Plan {
  const reader = new CountReader();
  const lot = desk.state.lots[fields.lot];
  if (!lot) reader.errors["lot"] = "Choose what is woken.";
  const showing = reader.read("showing", fields.counts["showing"] ?? "", -1);
  const thrown = without0({
    ...fields.others,
    blind: reader.read("blind", fields.counts["blind"] ?? "", 0),
    rot: reader.read("rot", fields.counts["rot"] ?? "", 0),
  });
  if (!lot || reader.failed) return refused(reader.errors);
  const of = varietyName(desk.state, lot.variety);
  const out = sumOf(thrown);
  const left = lot.balance - out;
  const body = {
    lot: fields.lot,
    ...(fields.back ? {} : given("place", fields.place)),
    ...(showing >= 0 && !fields.back ? { showing } : {}),
    ...(out > 0 ? { thrown_out: thrown } : {}),
    ...(fields.back ? { back: true } : {}),
    ...given("note", fields.note.trim()),
  };
  const warnings = [
    ...(out > lot.balance ? [`The book has ${lot.balance} of ${of} here, and you threw out ${out}. Saved all the same it shows under “doesn't add up”.`] : []),
    ...(out <= lot.balance && showing > left ? [`${showing} show eyes, and the book has only ${left} left after what was thrown out. Saved all the same; recount them when you can.`] : []),
  ];
  const said = [showing >= 0 && !fields.back ? `${showing} of ${Math.max(0, left)} showing eyes` : "", out > 0 ? `${out} thrown out` : ""].filter(Boolean).join(", ");
  return {
    errors: {},
    warnings: correcting ? [] : warnings,
    drafts: [{ kind: "woken", body }],
    said: fields.back ? `${of} put back into store` : `${of} in the warm${said ? `: ${said}` : ""}`,
    undone: `${of} is as before.`,
  };
}

export function readWake(body: Record<string, unknown>): Partial<WakeFields> {
  const { blind, rot, ...others } = tallyIn(body, "thrown_out");
  return {
    lot: textIn(body, "lot"),
    place: textIn(body, "place"),
    counts: { showing: countIn(body, "showing"), blind: blind ? String(blind) : "", rot: rot ? String(rot) : "" },
    others,
    back: body["back"] === true,
  };
}

/** "wake up", "start into growth": as the farm says it. */
export const wakeWords = (): string => w.wakeUp;
