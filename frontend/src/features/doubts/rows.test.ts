import { describe, expect, it } from "vitest";
import type { Problem } from "../../core/stock/state.ts";
import { beside, byCause, filterFrom, filterQuery, NO_FILTER, onlyThose, rowsOf, standsNowAs } from "./rows.ts";

const problem = (code: string, records: string[], more: Partial<Problem> = {}): Problem => ({
  code, records, voidable: [], facts: { lot: "l1" }, outs: [], accepted: "", ...more,
});
const entries: Record<string, { author: string; device: string; occurred_on: string }> = {
  a: { author: "ana", device: "desk", occurred_on: "2026-12-01" },
  b: { author: "ben", device: "phone", occurred_on: "2026-12-03" },
};
const state = { lots: { l1: { container: "c1" } } } as never;
const all = {
  "negative_balance:l1:-2": problem("negative_balance", ["a", "b"]),
  "counts_differ:l1:a:b": problem("counts_differ", ["a"]),
  "lot_elsewhere:l1:b": problem("lot_elsewhere", ["b"], { facts: { lot: "l1", crate: "c2", container: "c1" } }),
  "no_origin:l1": problem("no_origin", ["a"], { accepted: "x" }),
};
const { open, left } = rowsOf(all, (sha) => entries[sha], state);

describe("the list", () => {
  it("has open ones by cause, the latest first, and those left apart", () => {
    expect(open.map((row) => row.key)).toEqual(["negative_balance:l1:-2", "counts_differ:l1:a:b", "lot_elsewhere:l1:b"]);
    expect(left.map((row) => row.key)).toEqual(["no_origin:l1"]);
    expect(open[0]).toMatchObject({ people: ["ana", "ben"], phones: ["desk", "phone"], crates: ["c1"], on: "2026-12-03" });
    expect(open[2]?.crates).toEqual(["c2", "c1"]);
  });
  it("keeps those of one person, phone, cause, crate or batch", () => {
    const keys = (only: object) => onlyThose(open, { ...NO_FILTER, ...only }).map((row) => row.problem.code);
    expect(keys({ who: "ben" })).toEqual(["negative_balance", "lot_elsewhere"]);
    expect(keys({ phone: "desk", cause: "counts" })).toEqual(["negative_balance", "counts_differ"]);
    expect(keys({ crate: "c2" })).toEqual(["lot_elsewhere"]);
    expect(keys({ lot: "l2" })).toEqual([]);
  });
  it("carries what is asked for in its address", () => {
    const only = { ...NO_FILTER, who: "ben", crate: "c1" };
    expect(filterQuery(only)).toBe("?who=ben&crate=c1");
    expect(filterFrom(new URLSearchParams(filterQuery(only)))).toEqual(only);
    expect(filterQuery(NO_FILTER)).toBe("");
  });
  it("shows some and counts all", () => {
    expect(byCause(open, 1).map((one) => [one.group, one.rows.length, one.all])).toEqual([["counts", 1, 2]]);
    expect(byCause(open, 9).map((one) => one.group)).toEqual(["counts", "where"]);
  });
  it("knows its neighbours", () => {
    expect(beside(open, "counts_differ:l1:a:b")).toEqual({ at: 1, before: "negative_balance:l1:-2", after: "lot_elsewhere:l1:b" });
    expect(beside(open, "gone")).toMatchObject({ at: -1 });
  });
  it("finds what stands now when the figures have changed", () => {
    expect(standsNowAs("negative_balance:l1:-1", all)).toBe("negative_balance:l1:-2");
    expect(standsNowAs("negative_balance:l9:-1", all)).toBe("");
    expect(standsNowAs("no_origin:l1", all)).toBe("");
  });
});
