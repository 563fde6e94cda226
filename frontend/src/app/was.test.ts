import { describe, expect, it } from "vitest";
import { before, type Written } from "./was.ts";

describe("what a field said before", () => {
  const set = (sha: string, author: string, value: string, field = "name"): Written => ({
    sha, kind: "field_set", author, occurred_on: "2026-11-03", recorded_at: 1, body: { table: "crates", row: "r", field, value },
  });
  it("is the last value by somebody else", () => {
    const entries = [set("a", "ana", "N12"), set("b", "ben", "North 12")];
    expect(before(entries, "r", "name", { by: "b" })).toEqual({ value: "N12", author: "ana", on: "2026-11-03", at: 1 });
  });
  it("is nothing when one person changed her own mind", () => {
    expect(before([set("a", "ana", "N12"), set("b", "ana", "North 12")], "r", "name", { by: "b" })).toBeUndefined();
  });
  it("is nothing when both wrote the same", () => {
    expect(before([set("a", "ana", "N12"), set("b", "ben", "N12")], "r", "name", { by: "b" })).toBeUndefined();
  });
  it("leaves out what was undone, and other fields", () => {
    const undo: Written = { sha: "u", kind: "record_voided", author: "ana", occurred_on: "", recorded_at: 2, body: { target: "a" } };
    const entries = [set("a", "ana", "N12"), set("c", "ana", "x", "number"), set("b", "ben", "North"), undo];
    expect(before(entries, "r", "name", { by: "b" })).toBeUndefined();
    const again: Written = { ...undo, sha: "v", body: { target: "u" } };
    expect(before([...entries, again], "r", "name", { by: "b" })?.value).toBe("N12");
  });
  it("does not offer what was set aside", () => {
    expect(before([{ ...set("a", "dora", "N12"), held: "not_permitted" }, set("b", "ben", "North")], "r", "name", { by: "b" })).toBeUndefined();
  });
  it("is the one written last, whatever day it was written for", () => {
    const entries = [{ ...set("a", "ana", "old"), recorded_at: 5 }, { ...set("d", "ana", "older"), recorded_at: 3 }, set("b", "ben", "North")];
    expect(before(entries, "r", "name", { by: "b" })?.value).toBe("old");
  });
});
