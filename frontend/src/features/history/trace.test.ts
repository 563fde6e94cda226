import { describe, expect, it } from "vitest";
import type { Lot, StockState } from "../../core/stock/state.ts";
import { became, cameFrom, fates } from "./trace.ts";

const lot = (parents: string[], more: Partial<Lot> = {}): Lot =>
  ({ parents, unit: "tuber", balance: 5, accounts: {}, ...more }) as Lot;
const state = {
  lots: {
    tubers: lot([], { accounts: { bought: 5 } }),
    clump: lot([], { unit: "clump", accounts: { dug: 3 } }),
    half: lot(["clump"], { balance: 14, accounts: { divided: 17, thrown_out: 3 } }),
    crate: lot(["half"], { balance: 8, accounts: { transfer_in: 9, difference: -1 } }),
  },
  plantings: { bed: { from: [{ lot: "tubers", count: 3 }] } },
} as unknown as StockState;
const plantingOf = (id: string) => (id === "clump" ? "bed" : "");

describe("a trace", () => {
  it("goes back through the planting to what was planted", () => {
    expect(cameFrom(state, "crate", plantingOf).map((line) => [line.id, line.step])).toEqual([
      ["tubers", -4], ["bed", -3], ["clump", -2], ["half", -1],
    ]);
  });
  it("goes forward through the planting to what was dug", () => {
    expect(became(state, "tubers", plantingOf).map((line) => line.id)).toEqual(["bed", "clump", "half", "crate"]);
  });
  it("ends when a history goes in circles", () => {
    const circle = { lots: { a: lot(["b"]), b: lot(["a"]) }, plantings: {} } as unknown as StockState;
    expect(cameFrom(circle, "a", () => "").map((line) => line.id)).toEqual(["b"]);
    expect(became(circle, "a", () => "").map((line) => line.id)).toEqual(["b"]);
  });
  it("counts fates of each unit apart", () => {
    expect(fates([state.lots["half"]!, state.lots["crate"]!])).toEqual([
      { unit: "tuber", alive: 22, thrown: 3, out: 0, planted: 0, missing: 1 },
    ]);
    expect(fates([state.lots["clump"]!, state.lots["half"]!]).map((one) => one.unit)).toEqual(["clump", "tuber"]);
  });
});
