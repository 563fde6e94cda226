import { describe, expect, it } from "vitest";
import { crateOf, deskOf, id, lotOf, named, stockOf } from "../../app/form/testing.ts";
import { refusals } from "../../core/sync/validate.ts";
import { noEmpty, planEmpty, readEmpty, stillIn } from "./empty.ts";

const [CRATE, A, B, GONE] = [id(1), id(2), id(3), id(4)];
const stock = (balance: number) =>
  stockOf({
    rows: { crates: { [CRATE]: named("12", "number") } },
    crates: { [CRATE]: crateOf({ lots: [A, B, GONE] }) },
    lots: { [A]: lotOf({ balance }), [B]: lotOf({ unit: "clump", balance: Math.min(balance, 2) }), [GONE]: lotOf({ balance: 0 }) },
  });

describe("emptying a crate", () => {
  it("names every lot it held and says what happens to what is left", () => {
    const plan = planEmpty({ ...noEmpty(), crate: CRATE }, deskOf(stock(31)));
    expect(plan.drafts).toEqual([{ kind: "emptied", body: { crate: CRATE, lots: [A, B, GONE] } }]);
    expect(refusals("emptied", 1, plan.drafts[0]!.body)).toEqual([]);
    expect(plan.warnings[0]).toContain("31 tubers, 2 clumps");
    expect(plan.warnings[0]).toContain("not accounted for");
  });
  it("needs no second thought when the book has nothing left", () => {
    expect(stillIn(stock(0), CRATE)).toBe("");
    expect(planEmpty({ ...noEmpty(), crate: CRATE }, deskOf(stock(0))).warnings).toEqual([]);
  });
  it("asks which crate", () => {
    expect(planEmpty(noEmpty(), deskOf(stock(0))).errors).toHaveProperty("crate");
  });
  it("reads back what it emptied then, not what is in it now", () => {
    const body = { crate: CRATE, lots: [A] };
    expect(planEmpty({ ...noEmpty(), ...readEmpty(body) }, deskOf(stock(31))).drafts[0]!.body).toEqual(body);
  });
});
