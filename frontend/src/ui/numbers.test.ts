import { expect, test } from "vitest";
import { parseCount, parseDecimal, pressKey } from "./numbers.ts";

test.each([
  ["6,5", 6.5],
  ["6.5", 6.5],
  ["−2", -2],
  ["-2,25", -2.25],
  [" 84 ", 84],
  [".5", 0.5],
  ["6,", 6],
  ["", null],
  ["6,5,5", null],
  ["1.234,5", null],
  ["six", null],
  ["1e3", null],
])("%j is %j degrees", (text, value) => {
  expect(parseDecimal(text)).toBe(value);
});

test.each([
  ["34", 34],
  ["6 x 10", 60],
  ["6×10", 60],
  ["6*10+4", 64],
  ["0", 0],
  ["", null],
  ["6,5", null],
  ["-3", null],
  ["x6", null],
  ["99999999999999999999", null],
])("%j is a count of %j", (text, value) => {
  expect(parseCount(text)).toBe(value);
});

test("one decimal mark, one sign, no × without a figure before it", () => {
  expect(pressKey("6.", ",")).toBe("6.");
  expect(pressKey("6", "−")).toBe("−6");
  expect(pressKey("−6", "−")).toBe("6");
  expect(pressKey("", "×")).toBe("");
  expect(pressKey("6×", "×")).toBe("6×");
  expect(pressKey("31", "⌫")).toBe("3");
});
