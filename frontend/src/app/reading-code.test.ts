import { expect, test } from "vitest";
import { codeFromBytes } from "../core/codes/codes.ts";
import { readCode, readTyped } from "./reading.ts";
import type { StockState } from "../core/stock/state.ts";

const code = (n: number): string => {
  for (let k = n; ; k += 1) {
    const made = codeFromBytes(Uint8Array.of(1, 2, 3, k >> 8, k & 255));
    if (made) return made;
  }
};
const CRATE = code(10);
const LOT = code(500);
const OTHER = code(900);
const state = {
  codes: { [CRATE]: { target: "crate", id: "c1", by: "" }, [LOT]: { target: "lot", id: "l1", by: "" } },
  crates: { c1: { code: CRATE } },
  rows: { crates: { c1: { number: { value: "12", by: "", on: "" } } } },
  printed: { [OTHER]: 1 },
  same: {},
} as unknown as StockState;

test("the last part of any address, in any hand", () => {
  for (const text of [CRATE, CRATE.toLowerCase(), `HTTPS://FARM.EXAMPLE/${CRATE}`, `${CRATE.slice(0, 4)}-${CRATE.slice(4)}`])
    expect(readCode(text, state)).toEqual({ sort: "crate", id: "c1", code: CRATE });
  expect(readCode(LOT, state)).toEqual({ sort: "lot", id: "l1", code: LOT });
});

test("a code of nobody is unknown, and blank when it was printed here", () => {
  expect(readCode(OTHER, state)).toEqual({ sort: "unknown", code: OTHER, blank: true });
  expect(readCode(code(1500), state)).toMatchObject({ sort: "unknown", blank: false });
});

test("one slip of the hand finds the code that was meant", () => {
  const slip = (CRATE.startsWith("7") ? "8" : "7") + CRATE.slice(1);
  expect(readCode(slip, state)).toEqual({ sort: "slip", typed: slip, near: [CRATE] });
  expect(readCode(CRATE.slice(1), state)).toMatchObject({ sort: "slip", near: [CRATE] });
});

test("a code of something else is said to be that, whole", () => {
  expect(readCode("WIFI:S:barn;T:WPA;P:secret;;", state)).toMatchObject({ sort: "foreign" });
  expect(readCode("", state)).toMatchObject({ sort: "foreign" });
});

test("a plain number is a crate when hands typed it", () => {
  expect(readTyped("12", state)).toEqual({ sort: "crate", id: "c1", code: CRATE });
  expect(readTyped("crate 12", state)).toMatchObject({ sort: "crate" });
  expect(readTyped("13", state)).toMatchObject({ sort: "foreign" });
});
