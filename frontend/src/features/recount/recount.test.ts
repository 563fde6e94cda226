import { describe, expect, it } from "vitest";
import { deskOf, id, lotOf, named, stockOf } from "../../app/form/testing.ts";
import { refusals } from "../../core/sync/validate.ts";
import { differenceWords, noRecount, planRecount, readRecount } from "./recount.ts";

const VARIETY = id(1);
const LOT = id(2);
const OTHER = id(3);
const state = stockOf({
  rows: { varieties: { [VARIETY]: named("Oddny Larkvane") } },
  lots: { [LOT]: lotOf({ variety: VARIETY, balance: 34 }), [OTHER]: lotOf({ variety: VARIETY, balance: 6, unit: "clump" }) },
});

describe("recounting", () => {
  it("writes the count and no cause", () => {
    const { drafts, said, undone } = planRecount({ ...noRecount(), lots: [LOT], counts: { [LOT]: "31" } }, deskOf(state));
    expect(drafts).toEqual([{ kind: "counted", body: { lot: LOT, count: 31 } }]);
    expect(refusals("counted", 1, drafts[0]!.body)).toEqual([]);
    expect(said).toBe("Oddny Larkvane: 31 tubers, 3 fewer than the book");
    expect(undone).toBe("back to 34 tubers.");
  });
  it("counts the lots of a crate in one go and leaves out what was not counted", () => {
    const { drafts } = planRecount({ ...noRecount(), lots: [LOT, OTHER], counts: { [OTHER]: "6" }, about: true }, deskOf(state));
    expect(drafts.map((draft) => draft.body)).toEqual([{ lot: OTHER, count: 6, about: true }]);
  });
  it("takes zero for a count, and an empty box for none", () => {
    expect(planRecount({ ...noRecount(), lots: [LOT], counts: { [LOT]: "0" } }, deskOf(state)).drafts).toHaveLength(1);
    expect(planRecount({ ...noRecount(), lots: [LOT] }, deskOf(state)).errors).toHaveProperty(LOT);
  });
  it("says how the book differs", () => {
    expect([differenceWords(34, 34), differenceWords(34, 36)]).toEqual(["as the book says", "2 more than the book"]);
  });
  it("reads back", () => {
    const body = { lot: LOT, count: 31, about: true };
    expect(planRecount({ ...noRecount(), ...readRecount(body) }, deskOf(state)).drafts[0]!.body).toEqual(body);
  });
});
