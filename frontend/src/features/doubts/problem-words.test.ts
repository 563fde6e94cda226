import { describe, expect, it } from "vitest";
import type { Problem, StockState } from "../../core/stock/state.ts";
import { GROUPS, groupLabel, groupOf, problemSays, requestSays, type Teller } from "./problem-words.ts";

const set = (value: string) => ({ value, by: "a", on: "2026-11-03" });
const state = {
  lots: { l1: { variety: "v1", unit: "tuber", eyes: "showing", grade: "", container: "c1", code: "" } },
  crates: {},
  codes: { "4K7QM2X1": { target: "crate", id: "c1", by: "s" } },
  rows: {
    varieties: { v1: { name: set("Oddny Larkvane") } },
    crates: { c1: { number: set("12") }, c2: { number: set("15") } },
  },
  same: {},
} as unknown as StockState;
const tell: Teller = { state, day: (date) => date, who: (sha) => (sha === "ana" ? "Ana" : "Ben") };
const problem = (code: string, facts: Problem["facts"] = {}, more: Partial<Problem> = {}): Problem => ({
  code, records: ["ana", "ben"], voidable: [], facts, outs: ["accept"], accepted: "", ...more,
});

/** Every code of the fold in state.ts and of its list of contradictions. */
const CODES = [
  "negative_balance", "date_clamped", "duplicate_id", "code_on_two", "lot_elsewhere", "no_origin", "sums_differ",
  "check_disagrees", "counts_differ", "emptied_with_stock", "unassigned_loss", "not_allowed", "bad_correction",
  "target_missing", "unknown_code", "promised_short",
];

describe("what does not add up", () => {
  it("names both people and both counts", () => {
    expect(problemSays(problem("counts_differ", { lot: "l1", first: 34, second: 31 }), tell)).toBe(
      "Oddny Larkvane, crate 12: Ana counted 34, Ben 31 on the same day. The later count stands for now.",
    );
  });
  it("says how many too many were taken, as a plain number", () => {
    expect(problemSays(problem("negative_balance", { lot: "l1", count: -1 }), tell)).toBe(
      "Oddny Larkvane, crate 12: 1 more taken out than there were.",
    );
  });
  it("names both crates of a lot found elsewhere", () => {
    expect(problemSays(problem("lot_elsewhere", { lot: "l1", crate: "c2", container: "c1" }), tell)).toBe(
      "Oddny Larkvane was found in crate 15. By what was written before it is in crate 12.",
    );
  });
  it.each(CODES)("%s has a sentence without ids, hashes or missing words", (code) => {
    const facts = { lot: "l1", crate: "c2", container: "c1", label: "4K7QM2X1", count: 2, seen: 3, expected: 4, first: 1, second: 2, on: "3 Mar", taken: 1, given: 2, variety: "v1", promised: 12, there: 9 };
    const said = problemSays(problem(code, facts), tell);
    expect(said).not.toMatch(/undefined|NaN|newer app|_/);
    expect(said).toMatch(/[.]$/);
  });
  it("still shows one that only a newer app can name", () => {
    expect(problemSays(problem("of_tomorrow"), tell)).toContain("newer app");
  });
});

describe("the causes", () => {
  it.each([...CODES, "of_tomorrow"])("%s stands under one that has a name", (code) => {
    expect(GROUPS).toContain(groupOf(code));
    expect(groupLabel[groupOf(code)]).toMatch(/^[A-Z]/);
  });
});

describe("what somebody without the right asks for", () => {
  const sold = { kind: "gone_out", body: { count: 4 } };
  const look = (change: { kind: string; body: Record<string, unknown> } | undefined) => ({
    find: (sha: string) => (sha === "ana" ? sold : change),
    who: tell.who,
    says: (entry: { body: Record<string, unknown> }) => `Sold ${String(entry.body["count"])}`,
  });
  const one = problem("not_allowed");
  it("is to strike out, with the reason", () => {
    expect(requestSays(one, look({ kind: "record_voided", body: { target: "ana", why: "twice" } }))).toEqual({
      asks: "Ben asks to strike out what Ana wrote.", why: "twice", of: "Sold 4. Written by Ana.",
    });
  });
  it("is to correct, with both readings", () => {
    const said = requestSays(one, look({ kind: "record_corrected", body: { target: "ana", body: { count: 5 } } }));
    expect(said).toEqual({ asks: "Ben asks to correct it to: Sold 5.", why: "", of: "Sold 4. Written by Ana." });
  });
  it("is told although the entry is not here", () => {
    const said = requestSays(one, { ...look(undefined), find: () => undefined });
    expect(said.of).toContain("not on this phone");
  });
});
