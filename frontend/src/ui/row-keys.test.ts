import { describe, expect, it } from "vitest";
import { nextRow } from "./row-keys.ts";

describe("arrows", () => {
  it("go from the search to the first row and back", () => {
    expect(nextRow(-1, 1, 3)).toBe(0);
    expect(nextRow(0, -1, 3)).toBe(-1);
  });
  it("stop at the last row", () => {
    expect(nextRow(2, 1, 3)).toBe(2);
  });
  it("stay in the search when there is no row", () => {
    expect(nextRow(-1, 1, 0)).toBe(-1);
  });
});
