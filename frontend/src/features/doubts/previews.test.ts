import { describe, expect, it } from "vitest";
import type { StockState } from "../../core/stock/state.ts";
import { previewSays, waitsForGrower, whoCan } from "./previews.ts";

const set = (value: string) => ({ value, by: "a", on: "2026-11-03" });
const lot = { variety: "v1", unit: "tuber", eyes: "showing", grade: "", container: "c1", code: "", balance: -2 };
const stock = {
  lots: { l1: lot, l2: { ...lot, container: "c2", balance: 7 } },
  crates: {},
  rows: { varieties: { v1: { name: set("Oddny Larkvane") } }, crates: { c1: { number: set("12") }, c2: { number: set("15") } } },
  same: {},
} as unknown as StockState;
const change = (id: string, before: number, after: number, from = "c1", to = from) => ({ lot: id, before, after, from, to });

describe("before a button is pressed", () => {
  it("says the count afterwards and now, of the batch in question first", () => {
    const changes = [change("l2", 7, 0, "c2"), change("l1", -2, 14)];
    expect(previewSays(changes, stock, "l1")).toBe("Afterwards 14, now −2. Oddny Larkvane, crate 15: afterwards 0, now 7.");
  });
  it("says that the count stays when it does", () => {
    expect(previewSays([], stock, "l1")).toBe("The count stays at −2.");
    expect(previewSays([], stock)).toBe("");
  });
  it("says where a batch goes", () => {
    expect(previewSays([change("l1", 5, 5, "c1", "c2")], stock, "l1")).toBe("From crate 12 to crate 15.");
  });
  it("tells many batches as a number", () => {
    const said = previewSays(["l1", "l2", "l3", "l4", "l5"].map((id) => change(id, 1, 2)), stock, "l1");
    expect(said).toMatch(/2 more batches change[.]$/);
  });
});

describe("who may", () => {
  it("names whoever may, by the one table of rights", () => {
    expect(whoCan(["problem_accepted"], "grower")).toEqual({ may: true });
    expect(whoCan(["problem_accepted"], "helper")).toEqual({ may: false, sentence: "A grower or an owner can do this." });
    expect(whoCan(["held_resolved"], "grower")).toEqual({ may: false, sentence: "An owner can do this." });
    expect(whoCan(["counted"], "helper")).toEqual({ may: true });
    expect(whoCan(["counted"], "viewer")).toMatchObject({ may: false });
  });
  it("lets a helper's change of another's entry wait", () => {
    const entry = { author: "ana" };
    expect([waitsForGrower(entry, "ben", "helper"), waitsForGrower(entry, "ana", "helper"), waitsForGrower(entry, "ben", "grower")]).toEqual([true, false, false]);
  });
});
