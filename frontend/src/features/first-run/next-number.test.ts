import { expect, test } from "vitest";
import { firstFree, numberAfter } from "./next-number.ts";

test.each([
  ["9", "10"],
  ["A09", "A10"],
  ["North 99", "North 100"],
  ["007", "008"],
  ["north", ""],
  ["", ""],
])("after %j comes %j", (written, next) => {
  expect(numberAfter(written)).toBe(next);
});

test("the first free number is above all plain ones, whatever names there are", () => {
  expect(firstFree([])).toBe("1");
  expect(firstFree(["3", "12", "North 40", "x"])).toBe("13");
});
