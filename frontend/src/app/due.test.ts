import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { Fold } from "../core/stock/fold.ts";
import type { StockState } from "../core/stock/state.ts";
import { dueCrates, dueOn, isDue, type DueRule } from "./due.ts";

// The farm's own default: every 14 days for six weeks after packing, then every 30 (common practice, no source).
const RULE: DueRule = { first_check_days: 14, first_weeks: 6, later_check_days: 30 };

interface Case {
  what: string;
  begun: string;
  looked_on: string;
  look_again_on: string;
  place_days: number;
  due: string;
}
// The server's rule is held to the same cases.
const told = readFileSync(new URL("../../../tests/reference/due.json", import.meta.url), "utf8");

test.each((JSON.parse(told) as { cases: Case[] }).cases)("$what", ({ begun, place_days, due, ...looked }) => {
  expect(dueOn(begun, looked, RULE, place_days)).toBe(due);
});

test("nothing known, nothing due", () => {
  expect(dueOn("", { looked_on: "", look_again_on: "" }, RULE, 0)).toBe("");
});

const FARM = "farm";
const field = (value: string | number) => ({ value, by: "", on: "" });

/** A crate packed on the first of November in a place that is said to be the cellar. */
function packed(settings: Record<string, number>, checkDays?: number): StockState {
  const state = new Fold().state();
  state.lots["lot"] = { balance: 5, unit: "tuber", container: "crate", stays: [] } as unknown as StockState["lots"][string];
  state.crates["crate"] = {
    place: "shelf", packed_on: "2026-11-01", looked_on: "", look_again_on: "", lots: ["lot"],
  } as unknown as StockState["crates"][string];
  state.rows["settings"] = { [FARM]: Object.fromEntries(Object.entries(settings).map(([name, value]) => [name, field(value)])) };
  if (checkDays) state.rows["places"] = { cellar: { check_days: field(checkDays) } };
  state.same["places"] = { shelf: "cellar" };
  return state;
}

test.each([
  ["the default", {}, undefined, "2026-11-15"],
  ["the farm's own days", { first_check_days: 10 }, undefined, "2026-11-11"],
  ["no first weeks at all is no setting", { first_weeks: 0 }, undefined, "2026-11-15"],
  ["the place's days, under the name it goes by now", { first_check_days: 10 }, 5, "2026-11-06"],
] as const)("a crate by %s", (_, settings, checkDays, on) => {
  const [one] = dueCrates(packed(settings, checkDays), FARM, on);
  expect(one).toEqual({ crate: "crate", place: "shelf", on, late: 0 });
  expect(isDue(one!)).toBe(true);
});

test("a crate with nothing left in it is not due", () => {
  const state = packed({});
  state.lots["lot"]!.balance = -1;
  expect(dueCrates(state, FARM, "2026-12-01")).toEqual([]);
});
