import { expect, test } from "vitest";
import { byTheList, decimals, readMoney, showMoney, typedMoney } from "./money.ts";

// Decimals as in ISO 4217: EUR, USD 2; JPY 0; KWD 3.
test.each([["EUR", 2], ["USD", 2], ["JPY", 0], ["KWD", 3], ["??", 2]])("%s has %i decimals", (currency, places) => expect(decimals(currency)).toBe(places));

test.each([
  ["12", "EUR", 1200],
  ["12.5", "EUR", 1250],
  ["12,50", "EUR", 1250],
  ["0.05", "USD", 5],
  ["1 200,00", "EUR", 120000],
  ["1200", "JPY", 1200],
  ["1.250", "KWD", 1250],
  ["12.345", "EUR", null],
  ["12.5", "JPY", null],
  ["-3", "EUR", null],
  ["", "EUR", null],
  ["12.50 or so", "EUR", null],
  ["1e3", "EUR", null],
])("“%s” in %s is %s", (text, currency, minor) => expect(readMoney(text, currency)).toBe(minor));

test("what is shown in a field is read back as it was", () => {
  for (const currency of ["EUR", "JPY", "KWD"])
    for (const minor of [0, 1, 5, 99, 100, 1250, 999999]) expect(readMoney(typedMoney(minor, currency, ","), currency)).toBe(minor);
  expect(typedMoney(null, "EUR")).toBe("");
});

test("shown with the sign of the currency", () => {
  expect(showMoney(1250, "GBP", "en-GB")).toBe("£12.50");
  expect(showMoney(1250, "JPY", "en-US")).toBe("¥1,250");
  expect(showMoney(1250, "", "en-US")).toBe("12.50");
});

test("the list's price: the variety's own before the one for all", () => {
  const prices = [
    { variety: null, unit: "tuber", price_minor: 400, currency: "EUR" },
    { variety: "v", unit: "tuber", price_minor: 650, currency: "EUR" },
  ];
  expect(byTheList(prices, { variety: "v", unit: "tuber", count: 10 }, "EUR")).toBe(6500);
  expect(byTheList(prices, { variety: "x", unit: "tuber", count: 10 }, "EUR")).toBe(4000);
  expect(byTheList(prices, { variety: "v", unit: "clump", count: 1 }, "EUR")).toBeNull();
  expect(byTheList(prices, { variety: "v", unit: "tuber", count: 1 }, "USD")).toBeNull();
});
