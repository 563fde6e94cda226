import { describe, expect, it } from "vitest";
import { crateOf, deskOf, id, lotOf, named, stockOf } from "../../app/form/testing.ts";
import { refusals } from "../../core/sync/validate.ts";
import { noMove, planMove, readMove } from "./move.ts";

const [CELLAR, C12, C13, LOT] = [id(1), id(2), id(3), id(4)];
const state = stockOf({
  rows: { places: { [CELLAR]: named("Stone cellar") }, crates: { [C12]: named("12", "number"), [C13]: named("13", "number") } },
  crates: { [C12]: crateOf({ place: CELLAR, position: "shelf 1", lots: [LOT] }), [C13]: crateOf({}) },
  lots: { [LOT]: lotOf({ balance: 34, container: C12 }) },
});

describe("moving", () => {
  it("takes crates to a place and stack position, each as an entry of its own", () => {
    const { drafts, said, undone } = planMove({ ...noMove(), crates: [C12, C13], place: CELLAR, position: "shelf 2" }, deskOf(state));
    expect(drafts.map((draft) => draft.body)).toEqual([
      { crate: C12, place: CELLAR, position: "shelf 2" },
      { crate: C13, place: CELLAR, position: "shelf 2" },
    ]);
    for (const draft of drafts) expect(refusals("moved", 1, draft.body)).toEqual([]);
    expect(said).toBe("Crate 12, Crate 13 now at Stone cellar, shelf 2");
    expect(undone).toContain("Stone cellar, shelf 1");
  });
  it("takes a whole batch into another crate", () => {
    const { drafts } = planMove({ ...noMove(), what: "lot", lot: LOT, container: C13 }, deskOf(state));
    expect(drafts[0]!.body).toEqual({ lot: LOT, container: C13 });
    expect(refusals("moved", 1, drafts[0]!.body)).toEqual([]);
  });
  it("says when nothing would move", () => {
    expect(planMove({ ...noMove(), what: "lot", lot: LOT, container: C12 }, deskOf(state)).errors["container"]).toContain("already");
    expect(Object.keys(planMove(noMove(), deskOf(state)).errors)).toEqual(["crates", "place"]);
  });
  it("reads back", () => {
    const body = { crate: C12, position: "top" };
    expect(planMove({ ...noMove(), ...readMove(body) }, deskOf(state)).drafts[0]!.body).toEqual(body);
  });
});
