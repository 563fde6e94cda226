import { expect, test } from "vitest";
import { matches } from "./matches.ts";

test("found by the beginnings of words, without accents or capitals", () => {
  expect(matches("Gräfin Ottoline von Hessenquell", "grafin hess")).toBe(true);
  expect(matches("Mrs. E. Brundish-Voss", "voss")).toBe(true);
  expect(matches("Mrs. E. Brundish-Voss", "rund")).toBe(false);
  expect(matches("Crate 12", "12")).toBe(true);
  expect(matches("Crate 112", "12")).toBe(false);
  expect(matches("anything", "")).toBe(true);
});
