/** A crate is emptied; what the book still has in it is not accounted for. Pure. */
import { given, refused, textIn, type Desk, type Plan } from "../../app/form/plan.ts";
import { NO_FIELDS, type Fields } from "../../app/form/fields.ts";
import { lotsOfCrate } from "../../app/form/lot-options.ts";
import { crateName } from "../../app/names.ts";
import { countOf } from "../../app/words/index.svelte.ts";
import type { StockState } from "../../core/stock/state.ts";

export interface EmptyFields extends Fields {
  crate: string;
  /** Of an entry being corrected: what was in it then. */
  lots: string[] | null;
}

export const noEmpty = (): EmptyFields => ({ ...NO_FIELDS, crate: "", lots: null });

/** "31 tubers, 2 clumps": what the book still has, or "". */
export function stillIn(state: StockState, crate: string): string {
  const counts: Record<string, number> = {};
  for (const id of lotsOfCrate(state, crate)) {
    const lot = state.lots[id];
    if (lot) counts[lot.unit] = (counts[lot.unit] ?? 0) + lot.balance;
  }
  return Object.entries(counts)
    .map(([unit, count]) => countOf(count, unit))
    .join(", ");
}

export function planEmpty(fields: EmptyFields, desk: Desk): Plan {
  const { state } = desk;
  if (!fields.crate) return refused({ crate: "Choose the crate that was emptied." });
  const left = stillIn(state, fields.crate);
  const name = crateName(state, fields.crate);
  return {
    errors: {},
    warnings:
      left && fields.lots === null
        ? [`The book still has ${left} in ${name.replace(/^Crate/, "crate")}. Emptied, they count as not accounted for. If they were moved, sold or planted, write that down first.`]
        : [],
    drafts: [
      {
        kind: "emptied",
        body: {
          crate: fields.crate,
          lots: fields.lots ?? [...(state.crates[fields.crate]?.lots ?? [])],
          ...given("note", fields.note.trim()),
        },
      },
    ],
    said: `${name} emptied${left ? `, ${left} not accounted for` : ""}`,
    undone: `${name} holds ${left || "what it held"} again.`,
  };
}

export function readEmpty(body: Record<string, unknown>): Partial<EmptyFields> {
  const lots = body["lots"];
  return {
    crate: textIn(body, "crate"),
    lots: Array.isArray(lots) ? lots.filter((one): one is string => typeof one === "string") : [],
  };
}
