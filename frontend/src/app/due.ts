/** When a crate wants to be looked at again. Pure; dates are civil dates. */
import type { Crate, StockState } from "../core/stock/state.ts";
import { addDays, daysBetween, ISO_DATE } from "../ui/dates.ts";
import { field, fullCrates } from "./names.ts";

export interface DueRule {
  first_check_days: number;
  first_weeks: number;
  later_check_days: number;
}

const DEFAULT: DueRule = { first_check_days: 14, first_weeks: 6, later_check_days: 30 };

/** Whole days or weeks from 1 to 3650; anything else has no say. */
function count(value: unknown, otherwise: number): number {
  return typeof value === "number" && Number.isInteger(value) && value >= 1 && value <= 3650 ? value : otherwise;
}

/** The farm's interval; 14 days for six weeks after packing, then 30, unless it says otherwise. */
export function dueRule(state: StockState, farm: string): DueRule {
  const row = state.rows["settings"]?.[farm] ?? {};
  return {
    first_check_days: count(row["first_check_days"]?.value, DEFAULT.first_check_days),
    first_weeks: count(row["first_weeks"]?.value, DEFAULT.first_weeks),
    later_check_days: count(row["later_check_days"]?.value, DEFAULT.later_check_days),
  };
}

/**
 * The date to look again at a crate filled on `begun`, "" when that is not known. A look before the
 * filling has no say; what somebody asked for counts when it is sooner. `placeDays` 0: none of its own.
 */
export function dueOn(begun: string, looked: Pick<Crate, "looked_on" | "look_again_on">, rule: DueRule, placeDays: number): string {
  if (!ISO_DATE.test(begun)) return "";
  const last = looked.looked_on > begun ? looked.looked_on : begun;
  const early = last < addDays(begun, rule.first_weeks * 7);
  const regular = addDays(last, placeDays > 0 ? placeDays : early ? rule.first_check_days : rule.later_check_days);
  const again = looked.look_again_on;
  return again > last && again < regular ? again : regular;
}

/** The day a crate got what is in it: packed, else the first open stay in it, else where it stands since. */
export function filledOn(state: StockState, id: string, crate: Crate): string {
  if (crate.packed_on) return crate.packed_on;
  const stays = crate.lots
    .flatMap((lot) => state.lots[lot]?.stays ?? [])
    .filter((stay) => stay.crate === id && stay.to === "")
    .map((stay) => stay.from);
  return stays.sort()[0] ?? crate.since;
}

export interface Due {
  crate: string;
  place: string;
  on: string;
  /** Days past; negative before the day. */
  late: number;
}

/** Every crate with something in it and its day, longest overdue first. */
export function dueCrates(state: StockState, farm: string, today: string): Due[] {
  const rule = dueRule(state, farm);
  return fullCrates(state)
    .map(({ id, crate }) => {
      const placeDays = crate.place ? count(field(state, "places", crate.place, "check_days"), 0) : 0;
      const on = dueOn(filledOn(state, id, crate), crate, rule, placeDays);
      return { crate: id, place: crate.place, on, late: on ? daysBetween(on, today) : 0 };
    })
    .filter((due) => due.on !== "")
    .sort((a, b) => b.late - a.late || (a.crate < b.crate ? -1 : 1));
}

export const isDue = (due: Due): boolean => due.late >= 0;
