import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { StockState } from "../../core/stock/state.ts";
import { PLAIN, testPagePath } from "./job.ts";
import { blanksAhead, cratesWaiting, lotsWaiting } from "./queue.ts";
import { cellStates, planSays, planSheets, usualStock, type LabelStock } from "./sheet.ts";

const sheet = (labels_per_sheet: number, is_roll = false) => ({ labels_per_sheet, is_roll });

describe("sheets", () => {
  it("say labels, sheets and what is left over", () => {
    expect(planSays(26, 1, sheet(30))).toBe("26 labels on 1 sheet, 4 left over");
    expect(planSays(26, 7, sheet(30))).toBe("26 labels on 2 sheets, 28 left over");
    expect(planSays(30, 1, sheet(30))).toBe("30 labels on 1 sheet");
    expect(planSays(3, 1, sheet(1, true))).toBe("3 labels on the roll");
    expect(planSays(0, 1, sheet(30))).toBe("Nothing chosen to print");
  });
  it("put every label in a cell of its own, and the next job begins after the last", () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 300 }), fc.integer({ min: 1, max: 30 }), fc.integer({ min: 1, max: 30 }), (count, start, per) => {
        fc.pre(start <= per);
        const plan = planSheets(count, start, per);
        expect(plan.sheets * per).toBe(start - 1 + count + plan.leftOver);
        expect(plan.leftOver).toBeLessThan(per);
        expect(plan.nextStart).toBe(plan.leftOver === 0 ? 1 : per - plan.leftOver + 1);
        const cells = cellStates(count, start, per);
        expect(cells.filter((cell) => cell === "used")).toHaveLength(start - 1);
        expect(cells.filter((cell) => cell === "print")).toHaveLength(Math.min(count, per - start + 1));
      }),
    );
  });
});

describe("the stock offered first", () => {
  // Sizes as the farm's computer hands them out.
  const stock = (key: string, page_width_mm: number, close_range: boolean, is_roll = false) =>
    ({ key, page_width_mm, is_roll, kinds: [{ kind: "crate", close_range }] }) as unknown as LabelStock;
  const stocks = [stock("letter-30", 215.9, true), stock("letter-10", 215.9, false), stock("a4-21", 210, false), stock("roll-62", 62, false, true)];
  it("is of the country's paper and reads at arm's length", () => {
    expect(usualStock(stocks, "crate", true)?.key).toBe("letter-10");
    expect(usualStock(stocks, "crate", false)?.key).toBe("a4-21");
  });
  it("is what there is when nothing fits", () => {
    expect(usualStock(stocks.slice(0, 1), "crate", true)?.key).toBe("letter-30");
    expect(usualStock(stocks.slice(3), "crate", true)?.key).toBe("roll-62");
    expect(usualStock([], "crate", true)).toBeUndefined();
  });
});

describe("the printer's corrections", () => {
  it("go along when they are set, and only then", () => {
    const bare = testPagePath("a4-21", PLAIN);
    expect(bare).toBe("/api/labels/calibration/?offset_x_mm=0&offset_y_mm=0&stock=a4-21");
    expect(testPagePath("a4-21", { ...PLAIN, start: 7, offset_y_mm: -1.5, pitch_x_mm: 66.2 })).toBe(
      "/api/labels/calibration/?offset_x_mm=0&offset_y_mm=-1.5&pitch_x_mm=66.2&stock=a4-21",
    );
  });
});

describe("the queue", () => {
  const state = {
    crates: {
      fresh: { code: "", lots: ["a"], packed_on: "2026-11-05" },
      coded: { code: "4K7QM2X1", lots: ["a"], packed_on: "2026-11-04" },
      done: { code: "9M2X4K7Q", lots: ["a"], packed_on: "2026-11-03" },
      empty: { code: "", lots: ["gone"], packed_on: "2026-11-05" },
    },
    lots: {
      a: { balance: 5, born_on: "2026-11-05", code: "" },
      gone: { balance: 0, born_on: "2026-11-05", code: "" },
      old: { balance: 5, born_on: "2026-10-05", code: "" },
    },
    printed: { "9M2X4K7Q": 1, "00000002": 1 },
    codes: { "9M2X4K7Q": { target: "crate", id: "done", by: "" }, "4K7QM2X1": { target: "crate", id: "coded", by: "" } },
  } as unknown as StockState;
  it("holds full crates without a printed label, the last packed first", () => {
    expect(cratesWaiting(state)).toEqual([{ id: "fresh", code: "" }, { id: "coded", code: "4K7QM2X1" }]);
  });
  it("holds today's batches that are not used up", () => {
    expect(lotsWaiting(state, "2026-11-05").map((one) => one.id)).toEqual(["a"]);
  });
  it("knows the blank labels that nothing carries yet", () => {
    expect(blanksAhead(state)).toEqual(["00000002"]);
  });
});
