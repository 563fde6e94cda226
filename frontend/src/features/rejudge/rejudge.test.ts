import { describe, expect, it } from "vitest";
import { deskOf, id, lotOf, named, stockOf } from "../../app/form/testing.ts";
import { refusals } from "../../core/sync/validate.ts";
import { addsTo, isUnsure, noRejudge, planRejudge, readRejudge } from "./rejudge.ts";

const VARIETY = id(1);
const LOT = id(2);
const CRATE = id(3);
const unsure = lotOf({ variety: VARIETY, eyes: "unsure", balance: 9, container: CRATE });
const state = stockOf({ rows: { varieties: { [VARIETY]: named("Oddny Larkvane") } }, lots: { [LOT]: unsure } });
const fields = { ...noRejudge(), lot: LOT, counts: { showing: "5", unsure: "2", blind: "2" } };

describe("judging unsure tubers again", () => {
  it("takes what was judged out of the unsure lot and leaves the rest in it", () => {
    const { drafts, warnings } = planRejudge(fields, deskOf(state));
    expect(warnings).toEqual([]);
    expect(drafts[0]).toEqual({
      kind: "graded",
      body: {
        from: [{ lot: LOT, count: 7, thrown_out: { blind: 2 } }],
        into: [{ lot: id(900), count: 5, eyes: "showing", container: CRATE }],
      },
    });
    expect(refusals("graded", 1, drafts[0]!.body)).toEqual([]);
  });
  it("keeps a look that told nothing", () => {
    const { drafts, errors } = planRejudge({ ...fields, counts: { unsure: "9" } }, deskOf(state));
    expect(errors).toEqual({});
    expect(drafts[0]!.body).toEqual({ from: [{ lot: LOT, count: 0 }], into: [] });
    expect(refusals("graded", 1, drafts[0]!.body)).toEqual([]);
  });
  it("adds to those judged before in the same crate", () => {
    const earlier = lotOf({ variety: VARIETY, eyes: "showing", balance: 3, container: CRATE, parents: [LOT] });
    const both = { ...state, lots: { ...state.lots, [id(7)]: earlier } };
    expect(addsTo(both, LOT, CRATE)).toBe(id(7));
    expect(addsTo(both, LOT, id(8))).toBe("");
  });
  it("warns when more were judged than there are", () => {
    expect(planRejudge({ ...fields, counts: { showing: "12" } }, deskOf(state)).warnings[0]).toContain("3 more");
  });
  it("offers only lots that are unsure", () => {
    expect([unsure, lotOf({ eyes: "showing", balance: 3 }), { ...unsure, balance: 0 }].map(isUnsure)).toEqual([true, false, false]);
  });
  it("reads back", () => {
    const body = planRejudge(fields, deskOf(state)).drafts[0]!.body;
    const read = { ...noRejudge(), ...readRejudge(body as Record<string, unknown>) };
    expect(planRejudge(read, deskOf(state)).drafts[0]!.body).toEqual(body);
  });
});
