import { describe, expect, it } from "vitest";
import { deskOf, id, lotOf, named, stockOf } from "../../app/form/testing.ts";
import { refusals } from "../../core/sync/validate.ts";
import { addsTo, NEW, noDivide, planDivide, readDivide } from "./divide.ts";

const VARIETY = id(1);
const CLUMPS = id(2);
const TRAY = id(3);
const MADE = id(4);
const stock = (extra = {}) =>
  stockOf({
    rows: { varieties: { [VARIETY]: named("Oddny Larkvane") } },
    lots: { [CLUMPS]: lotOf({ variety: VARIETY, unit: "clump", balance: 12 }), ...extra },
  });
const twelve = { ...noDivide(), source: CLUMPS, counts: { showing: "74", unsure: "9", blind: "5" }, tray: TRAY };
const good = (kind: string, body: object) => expect(refusals(kind, 1, body)).toEqual([]);

describe("dividing", () => {
  it("cuts a whole variety at once into lots by eyes", () => {
    const { drafts, warnings } = planDivide(twelve, deskOf(stock()));
    expect(warnings).toEqual([]);
    expect(drafts).toEqual([
      {
        kind: "divided",
        body: {
          from: [{ lot: CLUMPS, count: 12 }],
          into: [
            { lot: id(900), count: 74, eyes: "showing", container: TRAY },
            { lot: id(901), count: 9, eyes: "unsure", container: TRAY },
          ],
          discarded: { blind: 5 },
        },
      },
    ]);
    good("divided", drafts[0]!.body);
  });
  it("takes one clump when it goes clump by clump, and adds to the same tubers of the tray", () => {
    const state = stock({
      [MADE]: lotOf({ variety: VARIETY, eyes: "showing", container: TRAY, parents: [CLUMPS], balance: 6 }),
    });
    const one = { ...twelve, by: "clump" as const, counts: { showing: "6", unsure: "1", blind: "2" } };
    const body = planDivide(one, deskOf(state)).drafts[0]!.body as { from: object[]; into: { lot: string }[] };
    expect(body.from).toEqual([{ lot: CLUMPS, count: 1 }]);
    expect(body.into.map((line) => line.lot)).toEqual([MADE, id(900)]);
    expect(addsTo(state, CLUMPS, "showing", id(99))).toBe("");
  });
  it("lets discards stay uncounted, and says so", () => {
    const { drafts } = planDivide({ ...twelve, counts: { showing: "6" }, others: { rot: 3 }, notCounted: true }, deskOf(stock()));
    expect(drafts[0]!.body).not.toHaveProperty("discarded");
    expect(drafts[0]!.body).toHaveProperty("not_counted", true);
  });
  it("works on clumps nobody wrote down", () => {
    const { drafts } = planDivide({ ...twelve, source: NEW + VARIETY, clumps: "3" }, deskOf(stock()));
    expect(drafts.map((draft) => draft.kind)).toEqual(["found", "divided"]);
    expect(drafts[0]!.body).toEqual({ lot: id(900), variety: VARIETY, unit: "clump", count: 3 });
    expect(drafts[1]!.body).toHaveProperty("from", [{ lot: id(900), count: 3 }]);
    for (const draft of drafts) good(draft.kind, draft.body);
  });
  it("warns when more clumps are cut than the book has", () => {
    const plan = planDivide({ ...twelve, clumps: "13" }, deskOf(stock()));
    expect(plan.warnings[0]).toContain("12 clumps");
    expect(plan.drafts).toHaveLength(1);
  });
  it("understands trays of ten", () => {
    const { drafts } = planDivide({ ...twelve, counts: { showing: "6 x 10" } }, deskOf(stock()));
    expect(drafts[0]!.body).toHaveProperty("into.0.count", 60);
  });
  it("reads its own entry back to the same entry", () => {
    const body = planDivide({ ...twelve, others: { broken: 2 } }, deskOf(stock())).drafts[0]!.body;
    const read = { ...noDivide(), ...readDivide(body as Record<string, unknown>) };
    expect(planDivide(read, deskOf(stock())).drafts[0]!.body).toEqual(body);
  });
});
