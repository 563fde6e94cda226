import { describe, expect, it } from "vitest";
import { deskOf, id, lotOf, named, stockOf } from "../../app/form/testing.ts";
import { refusals } from "../../core/sync/validate.ts";
import { noReturn, planReturn, readReturn, wentOut } from "./return.ts";

const VARIETY = id(1);
const LOT = id(2);
const SHA = "a".repeat(64);
const posting = { record: SHA, lot: LOT, unit: "tuber", account: "gone_out", amount: -5, stage: "", cause: "", how: "sold", on: "2026-11-03" };
const state = stockOf({
  rows: { varieties: { [VARIETY]: named("Oddny Larkvane") } },
  lots: { [LOT]: lotOf({ variety: VARIETY, balance: 29 }) },
  postings: { [`${SHA}:0`]: posting, x: { ...posting, account: "thrown_out", how: "" }, y: { ...posting, how: "heap" } },
});

describe("coming back", () => {
  it("lists what went out to people, not what was thrown out", () => {
    expect(wentOut(state, String)).toMatchObject([{ label: "5 tubers of Oddny Larkvane", note: "sold 2026-11-03" }]);
  });
  it("makes a lot of its own that points at the going out", () => {
    const { drafts, warnings } = planReturn({ ...noReturn(), went: `${SHA}:0`, count: "2", condition: "unsure" }, deskOf(state));
    expect(warnings).toEqual([]);
    expect(drafts[0]!.body).toEqual({
      lot: id(900), of: LOT, going_out: SHA, count: 2, variety: VARIETY, unit: "tuber", state: "unsure",
    });
    expect(refusals("returned", 1, drafts[0]!.body)).toEqual([]);
  });
  it("takes back what nothing recorded going out", () => {
    const { drafts } = planReturn({ ...noReturn(), variety: VARIETY, unit: "clump", count: "1" }, deskOf(state));
    expect(drafts[0]!.body).toEqual({ lot: id(900), count: 1, variety: VARIETY, unit: "clump" });
  });
  it("warns when more come back than went, and asks for what is missing", () => {
    expect(planReturn({ ...noReturn(), went: `${SHA}:0`, count: "6" }, deskOf(state)).warnings).toHaveLength(1);
    expect(Object.keys(planReturn(noReturn(), deskOf(state)).errors)).toEqual(["variety", "count"]);
  });
  it("reads back", () => {
    const body = planReturn({ ...noReturn(), went: `${SHA}:0`, count: "2" }, deskOf(state)).drafts[0]!.body;
    expect(planReturn({ ...noReturn(), ...readReturn(body as Record<string, unknown>) }, deskOf(state)).drafts[0]!.body).toEqual(body);
  });
});
