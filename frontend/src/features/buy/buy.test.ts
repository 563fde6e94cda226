import { describe, expect, it } from "vitest";
import { deskOf, id, named, stockOf } from "../../app/form/testing.ts";
import { refusals } from "../../core/sync/validate.ts";
import { noBuy, planBuy, readBuy } from "./buy.ts";

const VARIETY = id(1);
const state = stockOf({ rows: { varieties: { [VARIETY]: named("Oddny Larkvane") } } });
const fields = { ...noBuy(), variety: VARIETY, count: "6 x 10", supplier: " Marrow Lane stall ", eyes: "showing" };

describe("buying", () => {
  it("writes what came in and from where", () => {
    const { drafts, said } = planBuy(fields, deskOf(state));
    expect(drafts[0]).toEqual({
      kind: "bought",
      body: { lot: id(900), variety: VARIETY, unit: "tuber", count: 60, eyes: "showing", supplier: "Marrow Lane stall" },
    });
    expect(refusals("bought", 1, drafts[0]!.body)).toEqual([]);
    expect(said).toBe("bought 60 tubers of Oddny Larkvane");
  });
  it("asks for variety and count", () => {
    expect(Object.keys(planBuy(noBuy(), deskOf(state)).errors)).toEqual(["variety", "count"]);
  });
  it("reads back", () => {
    const body = planBuy({ ...fields, papers: "passport 12" }, deskOf(state)).drafts[0]!.body;
    expect(planBuy({ ...noBuy(), ...readBuy(body as Record<string, unknown>) }, deskOf(state)).drafts[0]!.body).toEqual(body);
  });
});
