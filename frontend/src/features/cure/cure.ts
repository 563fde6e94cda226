/** Clumps or tubers dry off before they are packed: begun, and ended by feel. Pure. */
import { CountReader, countIn, given, refused, textIn, type Desk, type Plan } from "../../app/form/plan.ts";
import { NO_FIELDS, type Fields } from "../../app/form/fields.ts";
import { isDrying, lotOptions, onBench, type LotOption } from "../../app/form/lot-options.ts";
import { placeName, varietyName } from "../../app/names.ts";
import { w } from "../../app/words/index.svelte.ts";
import { daysBetween } from "../../ui/index.ts";
import type { Lot, StockState } from "../../core/stock/state.ts";

export interface CureFields extends Fields {
  lots: string[];
  place: string;
  /** "", "yes", "no" */
  washed: string;
  cut: string;
  by_feel: string;
  mass_g: string;
}

export const noCure = (): CureFields => ({ ...NO_FIELDS, lots: [], place: "", washed: "", cut: "", by_feel: "", mass_g: "" });

export const FEELS = ["Skin dry, cuts closed", "Firm, necks not limp", "Soil falls off", "Beginning to wrinkle"] as const;

/** Everything on the bench that is not drying yet. */
export function toDry(state: StockState, show: (date: string) => string): LotOption[] {
  return lotOptions(state, (lot) => onBench(lot) && !isDrying(lot) && !("to" in lot.curing), show);
}

export interface Drying {
  id: string;
  lot: Lot;
  days: number;
  place: string;
}

/** What is drying, the longest first. */
export function drying(state: StockState, today: string): Drying[] {
  return Object.entries(state.lots)
    .filter(([, lot]) => lot.balance > 0 && isDrying(lot))
    .map(([id, lot]) => {
      const from = "from" in lot.curing ? lot.curing : null;
      return { id, lot, days: from ? daysBetween(from.from, today) : 0, place: from ? placeName(state, from.place) : "" };
    })
    .sort((a, b) => b.days - a.days || (a.id < b.id ? -1 : 1));
}

const named = (fields: CureFields, state: StockState): string => {
  const names = [...new Set(fields.lots.map((id) => varietyName(state, state.lots[id]?.variety ?? "")))];
  return names.length > 3 ? `${names.slice(0, 2).join(", ")} and ${names.length - 2} more` : names.join(", ");
};
const yes = (key: string, value: string) => (value ? { [key]: value === "yes" } : {});

export function planStart(fields: CureFields, desk: Desk): Plan {
  const reader = new CountReader();
  const mass = reader.read("mass_g", fields.mass_g, -1);
  if (fields.lots.length === 0) reader.errors["lots"] = "Choose what is laid out to dry.";
  if (reader.failed) return refused(reader.errors);
  const where = placeName(desk.state, fields.place);
  return {
    errors: {},
    warnings: [],
    drafts: [
      {
        kind: "curing_started",
        body: {
          lots: fields.lots,
          ...given("place", fields.place),
          ...yes("washed", fields.washed),
          ...yes("cut", fields.cut),
          ...(mass >= 0 ? { mass_g: mass } : {}),
          ...given("note", fields.note.trim()),
        },
      },
    ],
    said: `${named(fields, desk.state)} laid out to dry${where ? ` at ${where}` : ""}`,
    undone: "they are not laid out to dry by the book.",
  };
}

export function planEnd(fields: CureFields, desk: Desk): Plan {
  const reader = new CountReader();
  const mass = reader.read("mass_g", fields.mass_g, -1);
  if (fields.lots.length === 0) reader.errors["lots"] = `Choose what is ${w.cured}.`;
  if (reader.failed) return refused(reader.errors);
  return {
    errors: {},
    warnings: [],
    drafts: [
      {
        kind: "curing_ended",
        body: {
          lots: fields.lots,
          ...(mass >= 0 ? { mass_g: mass } : {}),
          ...given("by_feel", fields.by_feel.trim()),
          ...given("note", fields.note.trim()),
        },
      },
    ],
    said: `${named(fields, desk.state)} ${w.cured}`,
    undone: "they go on drying by the book.",
  };
}

export function readCure(body: Record<string, unknown>): Partial<CureFields> {
  const answer = (key: string) => (body[key] === true ? "yes" : body[key] === false ? "no" : "");
  return {
    lots: Array.isArray(body["lots"]) ? (body["lots"] as unknown[]).filter((one): one is string => typeof one === "string") : [],
    place: textIn(body, "place"),
    washed: answer("washed"),
    cut: answer("cut"),
    by_feel: textIn(body, "by_feel"),
    mass_g: countIn(body, "mass_g"),
  };
}

/** "since today", "1 day", "12 days" */
export const forDays = (days: number): string => (days <= 0 ? "since today" : days === 1 ? "1 day" : `${days} days`);
