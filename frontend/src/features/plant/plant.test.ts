import { describe, expect, it } from "vitest";
import { deskOf, id, lotOf, named, stockOf } from "../../app/form/testing.ts";
import { refusals } from "../../core/sync/validate.ts";
import { noPlant, planPlant, readPlant } from "./plant.ts";

const [LARK, SKERRY] = [id(1), id(2)];
const [A, B, C] = [id(3), id(4), id(5)];
const state = stockOf({
  rows: { varieties: { [LARK]: named("Oddny Larkvane"), [SKERRY]: named("Skerry Tam") } },
  lots: {
    [A]: lotOf({ variety: LARK, balance: 20 }),
    [B]: lotOf({ variety: SKERRY, balance: 9 }),
    [C]: lotOf({ variety: LARK, balance: 5 }),
  },
});
const fields = { ...noPlant(), bed: "2", row: "4", lots: [A, B, C], counts: { [A]: "20", [B]: "9", [C]: "5" } };

describe("planting", () => {
  it("makes one planting for each variety of the row", () => {
    const { drafts, warnings } = planPlant(fields, deskOf(state));
    expect(warnings).toEqual([]);
    expect(drafts.map((draft) => draft.body)).toEqual([
      { planting: id(900), bed: "2", row: "4", variety: LARK, from: [{ lot: A, count: 20 }, { lot: C, count: 5 }], plants: 25 },
      { planting: id(901), bed: "2", row: "4", variety: SKERRY, from: [{ lot: B, count: 9 }], plants: 9 },
    ]);
    for (const draft of drafts) expect(refusals("planted", 1, draft.body)).toEqual([]);
  });
  it("plants what was bought as plants", () => {
    const { drafts } = planPlant({ ...noPlant(), bed: "3", variety: LARK, plants: "12", supplier: "Marrow Lane stall" }, deskOf(state));
    expect(drafts[0]!.body).toEqual({ planting: id(900), bed: "3", variety: LARK, supplier: "Marrow Lane stall", plants: 12 });
  });
  it("warns of more than there are, and asks for what is missing", () => {
    expect(planPlant({ ...fields, counts: { ...fields.counts, [B]: "12" } }, deskOf(state)).warnings).toHaveLength(1);
    expect(Object.keys(planPlant({ ...noPlant(), lots: [A] }, deskOf(state)).errors)).toEqual([A, "bed"]);
    expect(planPlant(noPlant(), deskOf(state)).errors).toHaveProperty("lots");
  });
  it("corrects one variety at a time", () => {
    expect(planPlant(fields, deskOf(state), true).errors).toHaveProperty("lots");
    const body = planPlant({ ...fields, lots: [A] }, deskOf(state)).drafts[0]!.body;
    expect(planPlant({ ...noPlant(), ...readPlant(body as Record<string, unknown>) }, deskOf(state), true).drafts[0]!.body).toEqual(body);
  });
});
