import { describe, expect, it } from "vitest";
import { deskOf, id, lotOf, named, stockOf } from "../../app/form/testing.ts";
import { refusals } from "../../core/sync/validate.ts";
import { noOut, planOut, readOut, WAYS } from "./out.ts";

const VARIETY = id(1);
const LOT = id(2);
const stock = (lot = {}, variety = {}) =>
  stockOf({
    rows: { varieties: { [VARIETY]: { ...named("Oddny Larkvane"), ...variety } } },
    lots: { [LOT]: lotOf({ variety: VARIETY, balance: 34, ...lot }) },
  });
const fields = { ...noOut(), lot: LOT, count: "10", how: "sold" };

describe("going out", () => {
  it.each(WAYS)("writes %s", (how) => {
    const { drafts, warnings } = planOut({ ...fields, how }, deskOf(stock()));
    expect(warnings).toEqual([]);
    expect(refusals("gone_out", 1, drafts[0]!.body)).toEqual([]);
    // Only a sale has an id, for the buyer and price that may stand beside it.
    expect(drafts[0]!.body).toEqual({ lot: LOT, count: 10, how, ...(how === "sold" ? { sale: id(900) } : {}) });
  });
  it("warns of more than there are, and still saves", () => {
    const plan = planOut({ ...fields, count: "40" }, deskOf(stock()));
    expect(plan.warnings[0]).toContain("34 tubers");
    expect(plan.drafts).toHaveLength(1);
  });
  it("warns before selling what may not be sold, or what came back", () => {
    expect(planOut(fields, deskOf(stock({}, { may_not_sell: { value: true, by: "a", on: "" } }))).warnings).toHaveLength(1);
    expect(planOut(fields, deskOf(stock({ quarantined: 1 }))).warnings).toHaveLength(1);
    expect(planOut({ ...fields, how: "heap" }, deskOf(stock({ quarantined: 1 }))).warnings).toEqual([]);
  });
  it("asks for what is missing", () => {
    expect(Object.keys(planOut(noOut(), deskOf(stock())).errors)).toEqual(["lot", "count", "how"]);
  });
  it("reads back", () => {
    const body = planOut(fields, deskOf(stock())).drafts[0]!.body;
    expect(planOut({ ...noOut(), ...readOut(body as Record<string, unknown>) }, deskOf(stock())).drafts[0]!.body).toEqual(body);
  });
});
