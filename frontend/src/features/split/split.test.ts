import { describe, expect, it } from "vitest";
import { deskOf, id, lotOf, named, stockOf } from "../../app/form/testing.ts";
import { refusals } from "../../core/sync/validate.ts";
import { noSplit, planSplit, readSplit } from "./split.ts";

const VARIETY = id(1);
const LOT = id(2);
const CRATE = id(3);
const state = stockOf({
  rows: { varieties: { [VARIETY]: named("Oddny Larkvane") }, crates: { [CRATE]: named("13", "number") } },
  lots: { [LOT]: lotOf({ variety: VARIETY, eyes: "unsure", grade: "best", balance: 34, container: id(4) }) },
});
const fields = { ...noSplit(), lot: LOT, count: "10", container: CRATE };

describe("splitting", () => {
  it("hands eyes and grade on to the new lot", () => {
    const { drafts, said, warnings } = planSplit(fields, deskOf(state));
    expect(warnings).toEqual([]);
    expect(drafts[0]!.body).toEqual({
      from: [{ lot: LOT, count: 10 }],
      into: [{ lot: id(900), count: 10, eyes: "unsure", grade: "best", container: CRATE }],
    });
    expect(refusals("split", 1, drafts[0]!.body)).toEqual([]);
    expect(said).toBe("10 tubers of Oddny Larkvane into crate 13, 24 left");
  });
  it("sorts out seconds without another crate", () => {
    const { drafts } = planSplit({ ...fields, container: "", grade: "second" }, deskOf(state));
    expect(drafts[0]!.body).toHaveProperty("into.0", { lot: id(900), count: 10, eyes: "unsure", grade: "second", container: id(4) });
  });
  it("warns of more than there are, and asks for what is missing", () => {
    expect(planSplit({ ...fields, count: "40" }, deskOf(state)).warnings[0]).toContain("34 tubers");
    expect(Object.keys(planSplit(noSplit(), deskOf(state)).errors)).toEqual(["lot", "count", "container"]);
  });
  it("reads back", () => {
    const body = planSplit(fields, deskOf(state)).drafts[0]!.body;
    expect(planSplit({ ...noSplit(), ...readSplit(body as Record<string, unknown>) }, deskOf(state)).drafts[0]!.body).toEqual(body);
  });
});
