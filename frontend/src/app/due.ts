/** When a crate wants to be looked at again. Pure; dates are civil dates. */
import type { Crate, StockState } from "../core/stock/state.ts";
import { addDays, daysBetween } from "../ui/index.ts";
import { field, fullCrates } from "./names.ts";

export interface DueRule {
  first_check_days: number;
  first_weeks: number;
  later_check_days: number;
}

const DEFAULT: DueRule = { first_check_days: 14, first_weeks: 6, later_check_days: 30 };

function count(value: unknown, otherwise: number): number {
  return typeof value === "number" && Number.isInteger(value) && value > 0 ? value : otherwise;
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

/** The date a crate is due, or "" when it was never packed or looked at. `placeDays` of 0 has no say. */
export function dueOn(crate: Crate, rule: DueRule, placeDays: number): string {
  const last = crate.looked_on > crate.packed_on ? crate.looked_on : crate.packed_on;
  if (!last) return "";
  const early = crate.packed_on !== "" && daysBetween(crate.packed_on, last) < rule.first_weeks * 7;
  const regular = addDays(last, placeDays > 0 ? placeDays : early ? rule.first_check_days : rule.later_check_days);
  const again = crate.look_again_on;
  return again && again < regular ? again : regular;
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
      const on = dueOn(crate, rule, placeDays);
      return { crate: id, place: crate.place, on, late: on ? daysBetween(on, today) : 0 };
    })
    .filter((due) => due.on !== "")
    .sort((a, b) => b.late - a.late || (a.crate < b.crate ? -1 : 1));
}

export const isDue = (due: Due): boolean => due.late >= 0;
