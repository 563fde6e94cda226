import { describe, expect, it } from "vitest";
import { deskOf, id, lotOf, named, stockOf } from "../../app/form/testing.ts";
import { refusals } from "../../core/sync/validate.ts";
import { drying, forDays, noCure, planEnd, planStart, readCure, toDry } from "./cure.ts";

const VARIETY = id(1);
const BENCH = id(2);
const RACK = id(3);
const DONE = id(4);
const curing = (from: string, to = "") => ({ from, to, place: RACK, washed: 1, cut: -1 });
const state = stockOf({
  rows: { varieties: { [VARIETY]: named("Oddny Larkvane") }, places: { [RACK]: named("Drying rack") } },
  lots: {
    [BENCH]: lotOf({ variety: VARIETY, balance: 14 }),
    [id(5)]: lotOf({ variety: VARIETY, balance: 9, curing: curing("2026-11-13") }),
    [DONE]: lotOf({ variety: VARIETY, balance: 9, curing: curing("2026-11-01", "2026-11-04") }),
  },
});

describe("drying off", () => {
  it("offers what lies on the bench and is neither drying nor dry", () => {
    expect(toDry(state, String).map((one) => one.value)).toEqual([BENCH]);
  });
  it("shows how long it has been", () => {
    expect(drying(state, "2026-11-25")).toMatchObject([{ days: 12, place: "Drying rack" }]);
    expect([0, 1, 12].map(forDays)).toEqual(["since today", "1 day", "12 days"]);
  });
  it("leaves unsaid what nobody said", () => {
    const { drafts } = planStart({ ...noCure(), lots: [BENCH], washed: "no" }, deskOf(state));
    expect(drafts).toEqual([{ kind: "curing_started", body: { lots: [BENCH], washed: false } }]);
    expect(refusals("curing_started", 1, drafts[0]!.body)).toEqual([]);
  });
  it("ends by feel and reads back", () => {
    const { drafts } = planEnd({ ...noCure(), lots: [BENCH], by_feel: "Skin dry, cuts closed", mass_g: "4200" }, deskOf(state));
    expect(refusals("curing_ended", 1, drafts[0]!.body)).toEqual([]);
    const read = { ...noCure(), ...readCure(drafts[0]!.body as Record<string, unknown>) };
    expect(planEnd(read, deskOf(state)).drafts).toEqual(drafts);
  });
  it("asks what it is about", () => {
    expect(planStart(noCure(), deskOf(state)).errors).toHaveProperty("lots");
    expect(planEnd(noCure(), deskOf(state)).errors).toHaveProperty("lots");
  });
});
