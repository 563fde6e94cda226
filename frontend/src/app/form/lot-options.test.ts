import { describe, expect, it } from "vitest";
import { holdsStock, lotAskedFor, lotOptions, onBench } from "./lot-options.ts";
import { crateOf, id, lotOf, stockOf } from "./testing.ts";

const stay = {
  crate: id(9), place: "", position: "", method: "", moisture: "", from: "2026-11-03", to: "", packed_on: "2026-11-03",
  first_crate: id(9), entered: "packed", ended: "",
};
const state = stockOf({
  lots: {
    [id(1)]: lotOf({ balance: 5, born_on: "2026-10-01" }),
    [id(2)]: lotOf({ balance: 5, born_on: "2026-11-01" }),
    [id(3)]: lotOf({ balance: 5, stays: [stay], container: id(9) }),
    [id(4)]: lotOf({ balance: 0, container: id(9) }),
    [id(5)]: lotOf({ balance: 5, woken: { on: "2027-03-01", place: "", showing: 2 } }),
  },
  crates: { [id(9)]: crateOf({ lots: [id(3), id(4)] }) },
});

describe("batches to choose from", () => {
  it("are those on the bench, newest first, with the one asked for on top", () => {
    expect(lotOptions(state, onBench, String).map((one) => one.value)).toEqual([id(2), id(1)]);
    expect(lotOptions(state, onBench, String, id(3)).map((one) => one.value)).toEqual([id(3), id(2), id(1)]);
  });
  it("start with the only one of the crate that was opened", () => {
    expect(lotAskedFor(state, new URLSearchParams({ crate: id(9) }))).toBe(id(3));
    expect(lotAskedFor(state, new URLSearchParams({ lot: id(4) }))).toBe(id(4));
    expect(lotAskedFor(state, new URLSearchParams({ lot: "gone" }))).toBe("");
  });
  it("tell whether there is anything to work on", () => {
    expect([holdsStock(state, "crate", id(9)), holdsStock(state, "lot", id(4)), holdsStock(state, "farm", "")]).toEqual([true, false, true]);
  });
});
