import { describe, expect, it } from "vitest";
import { crateScanned, crateTyped } from "./crate-words.ts";
import { crateOf, id, named, stockOf } from "./testing.ts";

const [CRATE, LOT] = [id(1), id(2)];
// Codes with right check characters, as in tests/reference/codes.json of the label tests.
const ON_CRATE = "4K7QM2X1";
const state = stockOf({
  rows: { crates: { [CRATE]: named("12", "number") } },
  crates: { [CRATE]: crateOf({ code: ON_CRATE }) },
  codes: { [ON_CRATE]: { target: "crate", id: CRATE, by: "a" } },
});

describe("which crate is meant", () => {
  it.each(["12", "crate 12", "Crate 12", " 4k7q-m2x1 ", "HTTPS://FARM.EXAMPLE/4K7QM2X1"])("finds it by %j", (text) => {
    expect(crateTyped(text, state)).toEqual({ is: "crate", crate: CRATE });
  });
  it("makes a crate of a number nobody gave yet", () => {
    expect(crateTyped("North 3", state)).toEqual({ is: "number", number: "North 3" });
  });
  it("never makes a crate of a mistyped code", () => {
    const meant = crateTyped("4K7QM2X7", state);
    expect(meant).toMatchObject({ is: "nothing" });
    expect(meant.is === "nothing" && meant.why).toContain("4K7Q-M2X1 (Crate 12)");
  });
  it("takes a label that is on nothing yet", () => {
    const bare = stockOf({ printed: { [ON_CRATE]: 1 } });
    expect(crateScanned(ON_CRATE, bare)).toEqual({ is: "label", code: ON_CRATE });
  });
  it("says what else a label is on, and that another picture is none of ours", () => {
    const other = { ...state, codes: { [ON_CRATE]: { target: "lot", id: LOT, by: "a" } } };
    expect(crateScanned(ON_CRATE, other)).toMatchObject({ is: "nothing", why: "4K7Q-M2X1 is on a batch, not on a crate." });
    expect(crateScanned("WIFI:S:barn;;", state)).toMatchObject({ is: "nothing" });
  });
});
