import { describe, expect, it } from "vitest";
import type { Problem, StockState } from "../../core/stock/state.ts";
import { takeBack, takingBack, waysOf, writesOf } from "./ways.ts";

const set = (value: string) => ({ value, by: "a", on: "2026-11-03" });
const lot = { variety: "v1", unit: "tuber", eyes: "showing", grade: "", container: "c1", code: "", balance: 34 };
const state = {
  lots: { l1: lot, l2: { ...lot, variety: "v2" } },
  crates: {},
  codes: {},
  checks: {
    s1: {
      lines: [
        { lot: "l1", seen: 31, removed: { rot: 2 } },
        { lot: "l2", seen: -1, removed: {} },
      ],
    },
  },
  rows: {
    varieties: { v1: { name: set("Oddny Larkvane") }, v2: { name: set("Pim Haddersley") } },
    crates: { c1: { number: set("12") }, c2: { number: set("15") } },
  },
  same: {},
} as unknown as StockState;
const who = (sha: string) => ({ s1: "Ana", s2: "Ben" })[sha] ?? "somebody";
const problem = (code: string, more: Partial<Problem>): Problem => ({
  code, records: ["s1"], voidable: [], facts: {}, outs: [], accepted: "", ...more,
});

const FACTS = { lot: "l1", crate: "c2", container: "c1", label: "4K7QM2X1", count: -2, seen: 3, expected: 4, first: 1, second: 2, on: "2026-12-03", taken: 1, given: 2 };
/** Each sort of contradiction with the ways that the fold offers. */
const ALL: [code: string, outs: string[], facts: Problem["facts"]][] = [
  ["negative_balance", ["there_were_more", "recount", "void"], FACTS],
  ["check_disagrees", ["recount", "void", "accept"], FACTS],
  ["counts_differ", ["recount", "void", "accept"], FACTS],
  ["emptied_with_stock", ["void", "recount", "accept"], FACTS],
  ["no_origin", ["found"], FACTS],
  ["lot_elsewhere", ["move_here", "move_back", "void"], FACTS],
  ["code_on_two", ["void", "accept"], FACTS],
  ["unknown_code", ["void", "label"], FACTS],
  ["date_clamped", ["correct", "accept"], FACTS],
  ["sums_differ", ["correct", "accept"], FACTS],
  ["unassigned_loss", ["correct", "accept"], FACTS],
  ["duplicate_id", ["count_too", "accept"], {}],
  ["not_allowed", ["accept", "void"], {}],
  ["bad_correction", ["void", "accept"], {}],
  ["target_missing", ["void", "accept"], {}],
  ["promised_short", ["accept"], { variety: "v1", promised: 12, there: 9 }],
];

describe("ways out", () => {
  it("offer the count that a check left in the crate, not what it saw before throwing out", () => {
    const ways = waysOf(problem("check_disagrees", { facts: { lot: "l1", seen: 31, expected: 34 }, outs: ["recount", "accept"] }), state, who);
    expect(ways[0]).toMatchObject({ out: "recount", count: 29, label: "29, as Ana counted" });
    expect(ways.map((way) => way.asks)).toEqual(["", "count", "why"]);
  });
  it("offer both counts of one day by name", () => {
    const ways = waysOf(problem("counts_differ", { records: ["s1", "s2"], facts: { lot: "l1", first: 34, second: 31 }, outs: ["recount"] }), state, who);
    expect(ways.slice(0, 2).map((way) => [way.label, way.count])).toEqual([["34, as Ana counted", 34], ["31, as Ben counted", 31]]);
  });
  it("ask of which batch an unassigned loss was", () => {
    const ways = waysOf(problem("unassigned_loss", { outs: ["correct", "accept"] }), state, who);
    expect(ways.map((way) => way.line)).toEqual([0, 1, undefined]);
    expect(ways[1]?.label).toContain("Pim Haddersley");
  });
  it("name both crates", () => {
    const ways = waysOf(problem("lot_elsewhere", { facts: { crate: "c2", container: "c1" }, outs: ["move_here", "move_back"] }), state, who);
    expect(ways.map((way) => way.label)).toEqual(["It is in crate 15 now", "It is in crate 12"]);
  });
  it("let a grower do as a helper asked, or leave it, in one press each", () => {
    const one = problem("not_allowed", { records: ["s1", "s2"], outs: ["accept", "void"], voidable: ["s2"] });
    expect(waysOf(one, state, who).map((way) => [way.label, way.asks, way.record])).toEqual([["Do as asked", "", undefined], ["Leave it", "", "s2"]]);
    expect(takingBack(one, "s1")).toBeNull();
  });
  it.each(ALL)("%s says what each of its ways writes, and for which a reason can be given", (code, outs, facts) => {
    const ways = waysOf(problem(code, { records: ["s1", "s2"], voidable: ["s2"], outs, facts }), state, who);
    expect(ways.length).toBeGreaterThan(0);
    for (const way of ways) {
      expect(way.will, way.label).toMatch(/^[A-Z].{10,}[.]$/);
      expect(way.label).not.toMatch(/_|undefined|NaN/);
      expect(writesOf(way.out, "gone_out").length, way.out).toBeGreaterThan(0);
    }
    expect(ways.filter((way) => way.asks === "why").map((way) => way.out)).toEqual(code === "not_allowed" || !outs.includes("accept") ? [] : ["accept"]);
  });
  it("show one this app has no words for", () => {
    expect(waysOf(problem("x", { outs: ["way_of_tomorrow"] }), state, who)[0]?.label).toBe("way of tomorrow");
  });
});

describe("taking back", () => {
  it("is offered beside the entries that clear it and no others", () => {
    const one = problem("negative_balance", { records: ["s1", "s2"], outs: ["void"], voidable: ["s2"] });
    expect(takeBack(one)).toEqual(["s2"]);
    expect(takingBack(one, "s2")).toMatchObject({ clears: true });
    expect(takingBack(one, "s1")?.will).toContain("may not settle it alone");
  });
  it("is not offered when it is no way out", () => {
    expect(takeBack(problem("negative_balance", { outs: ["recount"], voidable: [] }))).toEqual([]);
  });
});
