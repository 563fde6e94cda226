import { expect, test } from "vitest";
import { addDays, daysBetween } from "./dates.ts";

test("civil days over months, leap days and summer time", () => {
  expect(addDays("2028-02-28", 1)).toBe("2028-02-29");
  expect(addDays("2027-01-01", -1)).toBe("2026-12-31");
  expect(daysBetween("2027-03-27", "2027-03-29")).toBe(2);
  expect(daysBetween("2027-01-20", "2027-01-13")).toBe(-7);
});
