import { describe, expect, it } from "vitest";
import type { Lot, Posting, StockState } from "../../core/stock/state.ts";
import { phoneCounts, wintersOf } from "./phone-counts.ts";
import { asText, figuresOf, percent, rowSays, worstFirst, type LossReport, type LossRow } from "./report.ts";
import { seasonOf, winterOf } from "./winter.ts";

describe("winters", () => {
  const north = seasonOf(() => undefined);
  // Pairs of tests/core/season/test_winters.py, so that both languages name a winter alike.
  it.each([
    ["2026-10-12", "2026/27"], ["2026-12-31", "2026/27"], ["2027-01-01", "2026/27"], ["2027-06-30", "2026/27"], ["1999-11-03", "1999/00"],
  ])("%s belongs to %s in the north", (day, winter) => {
    expect(winterOf(day, north)).toBe(winter);
  });
  it("lie in one year in the south", () => {
    const south = seasonOf((field) => (field === "hemisphere" ? "south" : undefined));
    expect(winterOf("2026-05-10", south)).toBe("2026");
  });
  it("follow months that the farm set", () => {
    expect(seasonOf((field) => ({ winter_start_month: 10, winter_end_month: 4 })[field])).toEqual({ start: 10, end: 4 });
  });
});

const row = (label: string, share: number | null, tubers = 30): LossRow =>
  ({
    key: { id: label, label }, guess: share === null ? "No counts yet." : "",
    came_through: share === null ? null : { share, low: share - 0.1, high: Math.min(1, share + 0.05), tubers, crates: 3 },
  }) as unknown as LossRow;

describe("rows", () => {
  it("stand worst first, with those nobody went through last", () => {
    const rows = [row("a", 0.9), row("none", null), row("b", 0.4)];
    expect(worstFirst(rows).map((one) => one.key.label)).toEqual(["b", "a", "none"]);
  });
  it("say in one sentence what the picture shows", () => {
    expect(rowSays(row("Vermiculite", 0.9))).toBe(
      "Vermiculite: 90 % came through, between 80 % and 95 %, 30 seen in 3 crates.",
    );
    expect(rowSays(row("Wrap", null))).toBe("Wrap: No counts yet.");
  });
  it("never round up to all or down to nothing", () => {
    expect([percent(0.999), percent(1), percent(0.001), percent(0)]).toEqual(["over 99 %", "100 %", "under 1 %", "0 %"]);
  });
  it("go into a spreadsheet as one line each, with everything last and no tab inside a cell", () => {
    const figure = (count: number) => ({ count, crates: [], records: [] });
    const full = (label: string): LossRow =>
      ({
        ...row(label, 0.9), packed: figure(30), thrown_out: 3, went_out: 0, missing: figure(0), brought_out: figure(0),
        in_store: figure(27), crates: ["a"], seen: { seen: 30, not_seen: 0, not_seen_since: null },
      }) as unknown as LossRow;
    const report = { by: "method", tables: [{ unit_words: "tubers", rows: [full("Two\twords")], everything: full("all") }] };
    const lines = asText(report as unknown as LossReport).split("\n");
    expect(lines.map((line) => line.split("\t").length)).toEqual([15, 15, 15]);
    expect(lines.map((line) => line.split("\t")[1])).toEqual(["method", "Two words", "everything"]);
  });
  it("open every count that is not nothing", () => {
    const figure = (count: number) => ({ count, crates: [], records: [] });
    const full = {
      packed: figure(10), found: figure(0), thrown: [{ ...figure(2), cause: "rot", words: "rot" }], gone_out: [],
      missing: figure(0), brought_out: figure(0), in_store: figure(8),
    } as unknown as LossRow;
    expect(figuresOf(full).map((one) => [one.label, one.figure.count])).toEqual([
      ["Packed", 10], ["Threw out: rot", 2], ["Still in store", 8],
    ]);
  });
});

describe("the phone's own counts", () => {
  const lot = (more: Partial<Lot>): Lot =>
    ({ unit: "tuber", packed_on: "2026-11-03", packed_count: 0, about: 0, balance: 0, woken: {}, stays: [], ...more }) as Lot;
  const posting = (more: Partial<Posting>): Posting =>
    ({ lot: "a", unit: "tuber", account: "thrown_out", amount: -1, stage: "store", cause: "rot", how: "", on: "2026-12-01", ...more }) as Posting;
  const state = {
    lots: {
      a: lot({ packed_count: 34, balance: 29 }),
      b: lot({ packed_count: 6, about: 1, balance: 6, woken: { on: "2027-03-01", place: "", showing: 0 } }),
      old: lot({ packed_on: "2025-11-03", packed_count: 99, balance: 0 }),
      clumps: lot({ unit: "clump", packed_count: 4, balance: 4 }),
    },
    postings: {
      p1: posting({ amount: -2 }),
      p2: posting({ amount: -5, stage: "bench", on: "2026-11-01" }),
      p3: posting({ account: "gone_out", how: "sold", amount: -2, cause: "" }),
      p4: posting({ account: "difference", amount: -1, cause: "counted" }),
      p5: posting({ lot: "old", amount: -50 }),
    },
  } as unknown as StockState;
  const season = { start: 9, end: 6 };

  it("add up for each unit of one winter: packed = lost + went out + missing + brought out + left", () => {
    const [tubers, clumps] = phoneCounts(state, "2026/27", season);
    expect(tubers).toMatchObject({ packed: 40, about: 6, lost: 2, thrown: { rot: 2 }, wentOut: 2, difference: -1, broughtOut: 6, left: 29 });
    const { packed, lost, wentOut, difference, broughtOut, left } = tubers!;
    expect(packed + difference).toBe(lost + wentOut + broughtOut + left);
    expect(clumps).toMatchObject({ unit: "clump", packed: 4, left: 4 });
  });
  it("leave what was thrown out at the bench out of it", () => {
    expect(phoneCounts(state, "2026/27", season)[0]?.lost).toBe(2);
  });
  it("know the winters, newest first", () => {
    expect(wintersOf(state, season)).toEqual(["2026/27", "2025/26"]);
  });
});
