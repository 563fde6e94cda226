import { describe, expect, it } from "vitest";
import { deskOf, id, lotOf, stockOf } from "../../app/form/testing.ts";
import { refusals } from "../../core/sync/validate.ts";
import { noCheck, planCheck, readCheck, type CheckFields } from "./correct-check.ts";

const [CRATE, LOT, ROUND] = [id(1), id(2), id(3)];
const desk = () => deskOf(stockOf({ lots: { [LOT]: lotOf({ balance: 32 }) } }));
const body = {
  crate: CRATE,
  round: ROUND,
  look: "all",
  lines: [{ lot: LOT, expected: 34, seen: 34, all: true, removed: { rot: 2 } }],
  note: "dark",
};
const opened = (): CheckFields => ({ ...noCheck(), ...readCheck(body), note: "dark" });
const corrected = (fields: CheckFields) => planCheck(fields, desk()).drafts[0]!.body;

describe("correcting a check", () => {
  it("reads back to what it was, with the round it belongs to", () => {
    expect(corrected(opened())).toEqual(body);
  });
  it("changes causes and counts", () => {
    const fields = opened();
    fields.lines[0]!.removed = { rot: 1, dried_up: 1, frozen: 0 };
    expect(corrected(fields)).toMatchObject({ lines: [{ seen: 34, removed: { rot: 1, dried_up: 1 } }] });
    expect(refusals("checked", 1, corrected(fields))).toEqual([]);
  });
  it("vouches for all of them only when all were gone through", () => {
    expect(corrected({ ...opened(), look: "some" })).not.toHaveProperty("lines.0.all");
    const top = opened();
    top.lines[0]!.seen = "";
    expect(corrected({ ...top, look: "top" })).toMatchObject({ lines: [{ lot: LOT, expected: 34, removed: { rot: 2 } }] });
    expect(corrected({ ...top, look: "top" })).not.toHaveProperty("lines.0.seen");
  });
  it("refuses more thrown out than were seen", () => {
    const fields = opened();
    fields.lines[0]!.seen = "1";
    expect(planCheck(fields, desk()).errors).toHaveProperty("seen-0");
  });
});
