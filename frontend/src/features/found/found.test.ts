import { describe, expect, it } from "vitest";
import { deskOf, id, named, stockOf } from "../../app/form/testing.ts";
import { refusals } from "../../core/sync/validate.ts";
import { noFound, planFound, readFound } from "./found.ts";

const VARIETY = id(1);
const state = stockOf({ rows: { varieties: { [VARIETY]: named("Oddny Larkvane") } } });
const fields = { ...noFound(), variety: VARIETY, count: "12", about: true, container: id(3) };

describe("found stock", () => {
  it("writes an estimate as an estimate", () => {
    const { drafts, said } = planFound(fields, deskOf(state));
    expect(drafts).toEqual([
      { kind: "found", body: { lot: id(900), variety: VARIETY, unit: "tuber", count: 12, about: true, container: id(3) } },
    ]);
    expect(refusals("found", 1, drafts[0]!.body)).toEqual([]);
    expect(said).toMatch(/^found ~12 tubers of Oddny Larkvane/);
  });
  it("keeps stock whose tag is gone", () => {
    expect(planFound({ ...fields, variety: "unknown" }, deskOf(state)).errors).toEqual({});
  });
  it("asks for variety and count", () => {
    expect(Object.keys(planFound(noFound(), deskOf(state)).errors)).toEqual(["variety", "count"]);
    expect(planFound({ ...fields, count: "-3" }, deskOf(state)).errors).toHaveProperty("count");
    expect(planFound({ ...fields, count: "10000000" }, deskOf(state)).errors).toHaveProperty("count");
  });
  it("reads back", () => {
    const body = planFound({ ...fields, eyes: "unsure" }, deskOf(state)).drafts[0]!.body;
    expect(planFound({ ...noFound(), ...readFound(body as Record<string, unknown>) }, deskOf(state)).drafts[0]!.body).toEqual(body);
  });
});
