import { describe, expect, it } from "vitest";
import { undoneBy } from "./undone.ts";

const entry = (sha: string, target?: string) => ({
  sha,
  kind: target ? "record_voided" : "checked",
  body: target ? { target } : {},
});

describe("what was undone", () => {
  it("is what an undo names", () => {
    expect([...undoneBy([entry("a"), entry("b", "a")])]).toEqual(["a"]);
  });
  it("comes back when the undo is undone", () => {
    expect([...undoneBy([entry("a"), entry("b", "a"), entry("c", "b")])]).toEqual(["b"]);
  });
  it("stays undone when only one of two undos was undone", () => {
    expect(undoneBy([entry("a"), entry("b", "a"), entry("c", "a"), entry("d", "b")]).has("a")).toBe(true);
  });
});
