import { describe, expect, it } from "vitest";
import { KINDS } from "../core/stock/kinds.ts";
import type { StockState } from "../core/stock/state.ts";
import { entrySays, entrySaysFully } from "./entry-words.ts";

const LOT = "00000000-0000-4000-8000-000000000001";
const CRATE = "00000000-0000-4000-8000-000000000002";
const VARIETY = "00000000-0000-4000-8000-000000000003";
const set = (value: string | number | boolean) => ({ value, by: "a", on: "2026-11-03" });
const state = {
  lots: { [LOT]: { variety: VARIETY, unit: "tuber", eyes: "showing", grade: "", container: CRATE, code: "" } },
  crates: { [CRATE]: { code: "" } },
  rows: {
    varieties: { [VARIETY]: { name: set("Oddny Larkvane") } },
    crates: { [CRATE]: { number: set("12") } },
  },
  same: {},
  plantings: {},
} as unknown as StockState;

describe("what an entry says", () => {
  it("says what a check saw and threw out, and nothing more", () => {
    const body = { crate: CRATE, look: "all", lines: [{ lot: LOT, seen: 34, all: true, removed: { rot: 2 } }] };
    expect(entrySays({ kind: "checked", body }, state)).toBe("Went through crate 12: 34 seen, threw out 2 rot");
  });
  it("does not call a look on top a count", () => {
    const body = { crate: CRATE, look: "top", lines: [{ lot: LOT }] };
    expect(entrySays({ kind: "checked", body }, state)).toBe("Looked on top of crate 12: nothing bad");
  });
  it("shows a figure that is none as it was written: it may be what set the entry aside", () => {
    const said = (count: unknown) => entrySays({ kind: "counted", body: { lot: LOT, count } }, state);
    expect([said(3), said("three"), said(undefined)].map((one) => one.split(": ")[1])).toEqual(["3", "“three”", "?"]);
    expect(entrySays({ kind: "gone_out", body: { lot: LOT, how: "sold", count: null } }, state)).toContain("“null” tubers");
  });
  it("says what a division took and gave", () => {
    const body = { from: [{ lot: LOT, count: 3 }], into: [{ lot: LOT, count: 14, unit: "tuber" }], discarded: { blind: 3 } };
    expect(entrySays({ kind: "divided", body }, state)).toBe(
      "Divided 3 tubers of Oddny Larkvane into 14 tubers, threw out 3 blind",
    );
  });
  it("says of an undo what was undone", () => {
    const emptied = { kind: "emptied", body: { crate: CRATE } };
    expect(entrySaysFully({ kind: "record_voided", body: { target: "x" } }, state, () => emptied)).toBe(
      "Undid: emptied crate 12",
    );
  });
  it("says of an undo of an undo what counts again", () => {
    const emptied = { kind: "emptied", body: { crate: CRATE } };
    const undo = { kind: "record_voided", body: { target: "x" } };
    const find = (sha: string) => (sha === "x" ? emptied : undo);
    expect(entrySaysFully({ kind: "record_voided", body: { target: "y" } }, state, find)).toBe("Counts again: emptied crate 12");
  });
  it.each(["", "not_a_kind", ...KINDS])("says something of an entry of kind %j whose body is nonsense", (kind) => {
    for (const body of [null, [], {}, { lots: 4, lines: "x", from: [null], readings: {} }]) {
      const said = entrySays({ kind, body }, state);
      expect(said.length).toBeGreaterThan(5);
      expect(said).not.toMatch(/undefined|NaN|\[object/);
    }
  });
});
