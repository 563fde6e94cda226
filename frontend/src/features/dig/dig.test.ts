import { describe, expect, it } from "vitest";
import { deskOf, id, named, stockOf } from "../../app/form/testing.ts";
import { refusals } from "../../core/sync/validate.ts";
import { nextRow, noDig, planDig, readDig, unspoken } from "./dig.ts";

const VARIETY = id(1);
const desk = () => deskOf(stockOf({ rows: { varieties: { [VARIETY]: named("Oddny Larkvane") } } }));
const row4 = {
  ...noDig(),
  bed: "2",
  row: "4",
  variety: VARIETY,
  planted: "25",
  counts: { dug: "22", rotted: "2", no_tubers: "1", still_in: "0" },
};

describe("digging a row", () => {
  it("writes the whole row as one entry of the agreed form", () => {
    const plan = planDig(row4, desk());
    expect(plan.errors).toEqual({});
    expect(plan.warnings).toEqual([]);
    expect(plan.drafts).toEqual([
      {
        kind: "dug",
        body: { bed: "2", row: "4", variety: VARIETY, planted: 25, lots: [{ lot: id(900), count: 22 }], no_tubers: 1, rotted: 2 },
      },
    ]);
    expect(refusals("dug", 1, plan.drafts[0]!.body)).toEqual([]);
    expect(plan.said).toMatch(/^Bed 2 row 4, 22 clumps of Oddny Larkvane/);
  });
  it("warns, and does not refuse, when more came up than were planted", () => {
    const plan = planDig({ ...row4, counts: { ...row4.counts, dug: "24" } }, desk());
    expect(plan.warnings).toHaveLength(1);
    expect(plan.warnings[0]).toContain("27");
    expect(plan.drafts).toHaveLength(1);
  });
  it("knows how much of the row waits", () => {
    expect(unspoken({ ...row4, counts: { dug: "12" } })).toBe(13);
    expect(unspoken({ ...row4, planted: "" })).toBeNull();
  });
  it("says what is missing without losing what was typed", () => {
    expect(Object.keys(planDig(noDig(), desk()).errors)).toEqual(["variety", "dug"]);
    expect(planDig({ ...row4, counts: { dug: "twelve" } }, desk()).errors["dug"]).toContain("twelve");
  });
  it("reads its own entry back to the same entry", () => {
    const body = planDig(row4, desk()).drafts[0]!.body;
    const again = planDig({ ...noDig(), ...readDig(body as Record<string, unknown>) }, desk());
    expect(again.drafts[0]!.body).toEqual(body);
  });
  it("goes on with the next row", () => {
    expect(nextRow("4")).toBe("5");
    expect(nextRow("4b")).toBe("");
  });
});
