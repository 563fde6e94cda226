import { describe, expect, it } from "vitest";
import { CountReader, dayTrouble, without0 } from "./plan.ts";

describe("the day of an entry", () => {
  const trouble = (on: string) => dayTrouble(on, "2026-11-25", (date) => date);
  it("may be today or before", () => {
    expect([trouble("2026-11-25"), trouble("2019-01-01")]).toEqual(["", ""]);
  });
  it("is refused with a sentence when it has not come yet or is none", () => {
    expect(trouble("2031-03-03")).toContain("Today is 2026-11-25");
    expect(trouble("")).toContain("Choose the day");
  });
});

describe("reading counts", () => {
  it("tells nothing typed from zero", () => {
    const reader = new CountReader();
    expect([reader.read("a", "", -1), reader.read("b", "0", -1), reader.read("c", "6 x 10", -1)]).toEqual([-1, 0, 60]);
    expect(reader.failed).toBe(false);
  });
  it.each(["two", "-3", "2,5", "1e9", "9999999"])("says what is wrong with %j", (text) => {
    const reader = new CountReader();
    reader.read("a", text, 0);
    expect(reader.errors["a"]).toContain(text);
  });
  it("leaves zeros out of tallies, since an entry has none", () => {
    expect(without0({ rot: 2, other: 0 })).toEqual({ rot: 2 });
  });
});
