import { describe, expect, it } from "vitest";
import { deskOf, id, lotOf, named, stockOf } from "../../app/form/testing.ts";
import { refusals } from "../../core/sync/validate.ts";
import { NEW, noItem, noPack, packOptions, planPack, readPack, surplus, type PackItem } from "./pack.ts";

const VARIETY = id(1);
const TRAY_LOT = id(2);
const CRATE = id(3);
const state = stockOf({
  rows: { varieties: { [VARIETY]: named("Oddny Larkvane") }, crates: { [CRATE]: named("12", "number") } },
  lots: { [TRAY_LOT]: lotOf({ variety: VARIETY, eyes: "showing", balance: 40 }) },
});
const desk = () => deskOf(state);
const fields = (item: Partial<PackItem> = {}) => ({
  ...noPack(),
  crate: CRATE,
  items: [{ ...noItem(TRAY_LOT), count: "37", thrown: { rot: 2, broken: 1 }, ...item }],
});
const body = (item: Partial<PackItem> = {}) => planPack(fields(item), desk()).drafts[0]!.body as Record<string, unknown>;

describe("packing", () => {
  it("packs a whole tray lot under its own id, with what was thrown out", () => {
    const plan = planPack(fields(), desk());
    expect(plan.warnings).toEqual([]);
    expect(plan.drafts).toEqual([
      {
        kind: "packed",
        body: {
          from: [{ lot: TRAY_LOT, count: 40, thrown_out: { rot: 2, broken: 1 } }],
          crate: CRATE,
          lots: [{ lot: TRAY_LOT, count: 37 }],
        },
      },
    ]);
    expect(refusals("packed", 1, body())).toEqual([]);
    expect(plan.said).toBe("Crate 12: 37 tubers of Oddny Larkvane");
  });
  it("never guesses the count", () => {
    expect(noItem(TRAY_LOT).count).toBe("");
    expect(planPack(fields({ count: "" }), desk()).errors).toHaveProperty("count-0");
  });
  it("takes only a part when the rest stays in the tray", () => {
    expect(body({ count: "20", part: true, thrown: { rot: 1 } })).toMatchObject({
      from: [{ lot: TRAY_LOT, count: 21, thrown_out: { rot: 1 } }],
      lots: [{ lot: id(900), count: 20, eyes: "showing" }],
    });
  });
  it("shows what is not accounted for, and warns of more than the book has", () => {
    expect(surplus(state, fields({ count: "35" }).items[0]!)).toBe(-2);
    const plan = planPack(fields({ count: "39" }), desk());
    expect(plan.warnings[0]).toContain("2 more");
    expect(plan.drafts).toHaveLength(1);
  });
  it("writes stock nothing recorded before, counted roughly", () => {
    const plain = body({ from: NEW + VARIETY, unit: "clump", about: true, thrown: {} });
    expect(plain).toEqual({ crate: CRATE, lots: [{ lot: id(900), count: 37, variety: VARIETY, unit: "clump", about: true }] });
    expect(refusals("packed", 1, plain)).toEqual([]);
  });
  it("writes one entry for each lot, so that each keeps its own origin", () => {
    const two = { ...fields(), items: [...fields().items, { ...noItem(NEW + VARIETY), count: "3" }], mass_g: "9200" };
    const { drafts } = planPack(two, desk());
    expect(drafts).toHaveLength(2);
    expect(drafts.map((draft) => (draft.body as { mass_g?: number }).mass_g)).toEqual([undefined, 9200]);
  });
  it("offers the bench first and each lot once", () => {
    expect(packOptions(state, (date) => date, []).map((one) => one.value)).toEqual([TRAY_LOT, NEW + VARIETY]);
    expect(packOptions(state, (date) => date, fields().items).map((one) => one.value)).toEqual([NEW + VARIETY]);
  });
  it.each([{}, { part: true, count: "20" }, { from: NEW + VARIETY, thrown: {} }])(
    "reads its own entry back to the same entry: %j",
    (item) => {
      const first = body(item);
      const packedAway = { ...state, lots: { ...state.lots, [TRAY_LOT]: lotOf({ variety: VARIETY, eyes: "showing", balance: 0 }) } };
      const again = planPack({ ...noPack(), ...readPack(first, packedAway) }, deskOf(packedAway));
      expect(again.drafts[0]!.body).toEqual(first);
    },
  );
});
