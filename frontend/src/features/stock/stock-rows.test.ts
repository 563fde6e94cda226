import { describe, expect, it } from "vitest";
import type { Crate, Lot, StockState } from "../../core/stock/state.ts";
import { crateRows, cratesAt, lotRows, placeRows, varietyRows } from "./stock-rows.ts";

const set = (value: string | number | boolean) => ({ value, by: "a", on: "2026-11-03" });
const lot = (more: Partial<Lot>): Lot =>
  ({ variety: "v1", unit: "tuber", eyes: "showing", grade: "", balance: 10, about: 0, accounts: {}, container: "", code: "", packed_on: "2026-11-03", ...more }) as Lot;
const crate = (more: Partial<Crate>): Crate =>
  ({ place: "p1", position: "", method: "", packed_on: "2026-11-03", lots: [], looked_on: "", look: "", look_again_on: "", code: "", ...more }) as Crate;

function farm(): StockState {
  return {
    lots: {
      a: lot({ container: "c1", balance: 34 }),
      b: lot({ container: "c1", balance: 6, variety: "v2", about: 1 }),
      c: lot({ container: "c10", balance: 5, variety: "twin", unit: "clump" }),
      gone: lot({ container: "c2", balance: 0, accounts: { thrown_out: 4 } }),
    },
    crates: {
      c1: crate({ lots: ["a", "b"], position: "2", looked_on: "2027-01-14" }),
      c10: crate({ lots: ["c"], position: "10", looked_on: "2026-12-01" }),
      c2: crate({ lots: ["gone"], position: "9" }),
      c3: crate({ lots: ["d"], place: "" }),
    },
    rows: {
      varieties: { v1: { name: set("Oddny Larkvane") }, v2: { name: set("Pim Haddersley") }, twin: { name: set("Pim H.") }, old: { name: set("Old one"), archived: set(true) } },
      crates: { c1: { number: set("1") }, c2: { number: set("2") }, c10: { number: set("10") } },
      places: { p1: { name: set("Stone cellar"), sort: set("cellar") } },
    },
    same: { varieties: { twin: "v2" } },
  } as unknown as StockState;
}

describe("crates", () => {
  it("show what is in them with ~ for a guess, and leave out empty ones", () => {
    const rows = crateRows(farm());
    expect(rows.map((row) => row.id).sort()).toEqual(["c1", "c10"]);
    expect(rows.find((row) => row.id === "c1")?.what).toBe("34 Oddny Larkvane, ~6 Pim Haddersley");
  });
  it("stand in the order of the stack, 9 before 10", () => {
    const state = farm();
    state.lots["gone"]!.balance = 1;
    expect(cratesAt(state, "p1").map((row) => row.id)).toEqual(["c1", "c2", "c10"]);
  });
});

describe("lots", () => {
  it("are listed while something is in them, and all when wanted", () => {
    expect(lotRows(farm()).map((row) => row.id)).toEqual(["a", "b", "c"]);
    expect(lotRows(farm(), true)).toHaveLength(4);
  });
  it("stay in the list when the book is below nothing", () => {
    const state = farm();
    state.lots["gone"]!.balance = -2;
    expect(lotRows(state).map((row) => row.id)).toContain("gone");
  });
});

describe("varieties", () => {
  it("that are one are counted as one, units apart", () => {
    const row = varietyRows(farm()).find((one) => one.id === "v2");
    expect(row?.counts).toEqual({ tuber: 6, clump: 5 });
    expect(row?.crates).toBe(2);
  });
  it("keep what was thrown out of lots that are used up, and leave out the put away", () => {
    const rows = varietyRows(farm());
    expect(rows.find((one) => one.id === "v1")?.thrown).toBe(4);
    expect(rows.map((row) => row.name)).not.toContain("Old one");
  });
});

describe("places", () => {
  it("know their crates and the one not looked at for longest", () => {
    expect(placeRows(farm())[0]).toMatchObject({ name: "Stone cellar", crates: 2, oldest: "2026-12-01", counts: { tuber: 40, clump: 5 } });
  });
  it("never hide a crate that stands nowhere", () => {
    const state = farm();
    state.lots["d"] = lot({ container: "c3" });
    expect(placeRows(state).map((row) => row.name)).toContain("No place written down");
  });
});
