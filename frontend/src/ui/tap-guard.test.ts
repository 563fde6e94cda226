import { expect, test } from "vitest";
import { isMeant, LEAST_PRESS_MS, REPEAT_MS, type Press } from "./tap-guard.ts";

const touch: Press = { pointer: "touch", heldMs: 100, fingers: 1, sinceLastMs: Infinity };

test("water on the glass: a touch too short, or one of two, is not meant", () => {
  expect(isMeant(touch, false)).toBe(true);
  expect(isMeant({ ...touch, heldMs: LEAST_PRESS_MS - 1 }, false)).toBe(false);
  expect(isMeant({ ...touch, heldMs: LEAST_PRESS_MS }, false)).toBe(true);
  expect(isMeant({ ...touch, fingers: 2 }, false)).toBe(false);
});

test("a second press of Save within 400 ms is not meant; a second tally is", () => {
  const again = { ...touch, sinceLastMs: REPEAT_MS - 1 };
  expect(isMeant(again, true)).toBe(false);
  expect(isMeant(again, false)).toBe(true);
  expect(isMeant({ ...touch, sinceLastMs: REPEAT_MS }, true)).toBe(true);
});

test("keyboard, switch, screen reader and mouse always pass", () => {
  for (const pointer of ["none", "mouse"] as const) {
    expect(isMeant({ pointer, heldMs: 0, fingers: 3, sinceLastMs: 0 }, true)).toBe(true);
  }
});
