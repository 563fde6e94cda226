import { describe, expect, it } from "vitest";
import type { Problem, StockState } from "../../core/stock/state.ts";
import { entriesOf, takeBack, waysOf } from "./ways.ts";

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

describe("ways out", () => {
  it("offer the count that a check left in the crate, not what it saw before throwing out", () => {
    const ways = waysOf(problem("check_disagrees", { facts: { lot: "l1", seen: 31, expected: 34 }, outs: ["recount", "accept"] }), state, who);
    expect(ways[0]).toMatchObject({ out: "recount", count: 29, label: "29, as Ana counted" });
    expect(ways.map((way) => way.asks)).toEqual(["", "count", ""]);
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
  it("show one this app has no words for", () => {
    expect(waysOf(problem("x", { outs: ["way_of_tomorrow"] }), state, who)[0]?.label).toBe("way of tomorrow");
  });
});

describe("taking back", () => {
  it("is offered beside the entries that clear it and no others", () => {
    const one = problem("negative_balance", { records: ["s1", "s2"], outs: ["void"], voidable: ["s2"] });
    expect(takeBack(one)).toEqual(["s2"]);
    expect(entriesOf(one)).toEqual(["s1", "s2"]);
  });
  it("is not offered when it is no way out", () => {
    expect(takeBack(problem("negative_balance", { outs: ["recount"], voidable: [] }))).toEqual([]);
  });
});
