import { describe, expect, it } from "vitest";
import { before, fieldsOf, readField, shown, TABLES, type Written } from "./tables.ts";

const words = { color: "color", placeSorts: { cellar: "cellar" }, packing: "packing" };

describe("reference rows", () => {
  it.each(TABLES)("%s begin with the name", (table) => {
    expect(fieldsOf(table, words)[0]?.name).toBe("name");
  });
  it("never offer the place, method or code of a crate, which only records change", () => {
    expect(fieldsOf("crates", words).map((one) => one.name)).toEqual(["number", "name"]);
  });
  it("keep a number of a crate as text, so that 012 stays 012", () => {
    expect(readField(fieldsOf("crates", words)[0]!, " 012 ")).toEqual({ value: "012" });
  });
  it("take an empty field as nothing, and no empty name", () => {
    const [name, form] = fieldsOf("varieties", words);
    expect(readField(form!, " ")).toEqual({ value: null });
    expect(readField(name!, " ")).toHaveProperty("sentence");
  });
  it("refuse days that are no days, and keep what is", () => {
    const days = fieldsOf("places", words).find((one) => one.name === "check_days")!;
    for (const wrong of ["0", "401", "3.5", "-1", "soon"]) expect(readField(days, wrong)).toHaveProperty("sentence");
    expect(readField(days, "10")).toEqual({ value: 10 });
  });
  it("show a yes and nothing for a no", () => {
    expect([shown(true), shown(false), shown(null), shown(undefined), shown(14)]).toEqual(["yes", "", "", "", "14"]);
  });
});

describe("what a field said before", () => {
  const set = (sha: string, author: string, value: string, field = "name"): Written => ({
    sha, kind: "field_set", author, occurred_on: "2026-11-03", body: { table: "crates", row: "r", field, value },
  });
  it("is the last value by somebody else", () => {
    const entries = [set("a", "ana", "N12"), set("b", "ben", "North 12")];
    expect(before(entries, "r", "name", { by: "b" })).toEqual({ value: "N12", author: "ana", on: "2026-11-03" });
  });
  it("is nothing when one person changed her own mind", () => {
    expect(before([set("a", "ana", "N12"), set("b", "ana", "North 12")], "r", "name", { by: "b" })).toBeUndefined();
  });
  it("is nothing when both wrote the same", () => {
    expect(before([set("a", "ana", "N12"), set("b", "ben", "N12")], "r", "name", { by: "b" })).toBeUndefined();
  });
  it("leaves out what was undone, and other fields", () => {
    const undo: Written = { sha: "u", kind: "record_voided", author: "ana", occurred_on: "", body: { target: "a" } };
    expect(before([set("a", "ana", "N12"), set("c", "ana", "x", "number"), set("b", "ben", "North"), undo], "r", "name", { by: "b" })).toBeUndefined();
  });
});
