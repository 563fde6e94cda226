import { expect, test } from "vitest";
import { dueOn, type DueRule } from "./due.ts";

// The farm's own default: every 14 days for six weeks after packing, then every 30 (common practice, no source).
const RULE: DueRule = { first_check_days: 14, first_weeks: 6, later_check_days: 30 };
const looked = (looked_on = "", look_again_on = "") => ({ looked_on, look_again_on });

test.each([
  ["never looked at: 14 days after packing", "2026-11-01", looked(), 0, "2026-11-15"],
  ["looked at in the first six weeks", "2026-11-01", looked("2026-12-01"), 0, "2026-12-15"],
  ["the last day of the six weeks is still close", "2026-11-01", looked("2026-12-12"), 0, "2026-12-26"],
  ["from six weeks on, a month", "2026-11-01", looked("2026-12-13"), 0, "2027-01-12"],
  ["a look before the filling has no say", "2026-11-01", looked("2026-10-20"), 0, "2026-11-15"],
  ["the place's own days replace both", "2026-11-01", looked("2026-12-20"), 7, "2026-12-27"],
  ["look again sooner counts", "2026-11-01", looked("2026-12-20", "2026-12-27"), 0, "2026-12-27"],
  ["look again later than the rule does not put it off", "2026-11-01", looked("2026-11-10", "2026-12-30"), 0, "2026-11-24"],
  ["look again on the day of the look is no wish", "2026-11-01", looked("2026-11-10", "2026-11-10"), 0, "2026-11-24"],
  ["nothing known, nothing due", "", looked(), 0, ""],
] as const)("%s", (_, begun, look, placeDays, due) => {
  expect(dueOn(begun, look, RULE, placeDays)).toBe(due);
});
