import { describe, expect, it } from "vitest";
import { deskOf, id, lotOf, named, stockOf } from "../../app/form/testing.ts";
import { refusals } from "../../core/sync/validate.ts";
import { noWake, planWake, readWake, waking } from "./wake.ts";

const VARIETY = id(1);
const LOT = id(2);
const stock = (lot = {}) =>
  stockOf({ rows: { varieties: { [VARIETY]: named("Oddny Larkvane") } }, lots: { [LOT]: lotOf({ variety: VARIETY, balance: 34, ...lot }) } });
const fields = { ...noWake(), lot: LOT, counts: { showing: "28", blind: "3", rot: "2" }, place: id(5) };

describe("waking up", () => {
  it("writes how far it is, and what was thrown out by cause", () => {
    const { drafts, warnings, said } = planWake(fields, deskOf(stock()));
    expect(warnings).toEqual([]);
    expect(drafts[0]).toEqual({ kind: "woken", body: { lot: LOT, place: id(5), showing: 28, thrown_out: { blind: 3, rot: 2 } } });
    expect(refusals("woken", 1, drafts[0]!.body)).toEqual([]);
    expect(said).toBe("Oddny Larkvane in the warm: 28 of 29 showing eyes, 5 thrown out");
  });
  it("may be the bare fact that it stands in the warm", () => {
    expect(planWake({ ...noWake(), lot: LOT }, deskOf(stock())).drafts[0]!.body).toEqual({ lot: LOT });
  });
  it("takes 0 for seen and none, and nothing for not looked", () => {
    expect(planWake({ ...noWake(), lot: LOT, counts: { showing: "0" } }, deskOf(stock())).drafts[0]!.body).toEqual({ lot: LOT, showing: 0 });
  });
  it("goes back into store", () => {
    expect(planWake({ ...fields, back: true, counts: {} }, deskOf(stock())).drafts[0]!.body).toEqual({ lot: LOT, back: true });
  });
  it("warns when the figures cannot all be true", () => {
    expect(planWake({ ...fields, counts: { showing: "34", rot: "2" } }, deskOf(stock())).warnings).toHaveLength(1);
    expect(planWake({ ...fields, counts: { rot: "40" } }, deskOf(stock())).warnings).toHaveLength(1);
  });
  it("shows what stands in the warm and for how long", () => {
    const warm = stock({ woken: { on: "2027-03-01", place: "", showing: 12 } });
    expect(waking(warm, "2027-03-15")).toMatchObject([{ id: LOT, days: 14, showing: 12 }]);
  });
  it("reads back", () => {
    const body = planWake(fields, deskOf(stock())).drafts[0]!.body;
    expect(planWake({ ...noWake(), ...readWake(body as Record<string, unknown>) }, deskOf(stock())).drafts[0]!.body).toEqual(body);
  });
});
