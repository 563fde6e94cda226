import { describe, expect, it } from "vitest";
import { fieldsOf, readField, shown, TABLES } from "./tables.ts";

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
