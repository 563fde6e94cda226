import { describe, expect, it } from "vitest";
import type { Lot } from "../core/stock/state.ts";
import { basisOf, lotCount } from "./lot-words.ts";

const lot = (more: Partial<Lot>): Lot =>
  ({
    unit: "tuber", balance: 34, about: 0, accounts: { divided: 34 }, born_on: "2026-11-01", packed_on: "",
    all_on: "", counted_on: "", looked_on: "", look: "", ...more,
  }) as Lot;
const day = (date: string) => date.slice(5);

describe("what a count rests on", () => {
  it("names packing, going through and looking, in the order of their days", () => {
    const held = lot({ packed_on: "2026-11-03", all_on: "2026-12-12", looked_on: "2027-01-14", look: "top" });
    expect(basisOf(held, day)).toBe("packed 11-03, gone through 12-12, looked at 01-14");
  });
  it("does not repeat a look that was going through all", () => {
    const held = lot({ packed_on: "2026-11-03", all_on: "2026-12-12", looked_on: "2026-12-12", look: "all" });
    expect(basisOf(held, day)).toBe("packed 11-03, gone through 12-12");
  });
  it("leaves out what came before the packing", () => {
    const held = lot({ packed_on: "2026-11-03", counted_on: "2026-11-02" });
    expect(basisOf(held, day)).toBe("packed 11-03");
  });
  it("says how a lot came to be when it was never packed", () => {
    expect(basisOf(lot({}), day)).toBe("divided 11-01");
  });
  it("marks a guess", () => {
    expect(lotCount(lot({ about: 1 }))).toBe("~34 tubers");
  });
});
