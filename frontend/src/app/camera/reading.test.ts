import { expect, test } from "vitest";
import { Burst } from "./burst.ts";
import { Gate, middle } from "./gate.ts";
import { KNOWN_TEXT, knownPicture } from "./known-picture.ts";

function typed(text: string, gapMs: number): string | null {
  const burst = new Burst();
  let at = 1000;
  for (const key of text) burst.key(key, (at += gapMs));
  return burst.key("Enter", at + gapMs);
}

test("a scanner's burst is read, hands are not", () => {
  expect(typed("4K7QM2X1", 8)).toBe("4K7QM2X1");
  expect(typed("HTTPS://FARM.EXAMPLE/4K7QM2X1", 12)).toBe("HTTPS://FARM.EXAMPLE/4K7QM2X1");
  expect(typed("4K7QM2X1", 60)).toBeNull();
  expect(typed("12345", 8)).toBeNull();
});

test("what hands typed before a burst is no part of it", () => {
  const burst = new Burst();
  burst.key("a", 0);
  burst.key("b", 400);
  let at = 2000;
  for (const key of "4K7QM2X1") burst.key(key, (at += 8));
  expect(burst.key("Enter", at + 8)).toBe("4K7QM2X1");
});

test("the same code counts again only after 3 s out of sight", () => {
  const gate = new Gate();
  expect(gate.passes("A", 0)).toBe(true);
  expect(gate.passes("A", 2000)).toBe(false);
  expect(gate.passes("A", 4500)).toBe(false);
  expect(gate.passes("B", 4600)).toBe(true);
  expect(gate.passes("A", 7500)).toBe(true);
  gate.forget();
  expect(gate.passes("A", 7600)).toBe(true);
});

test("a label still in view after a long count does not open again at once", () => {
  const gate = new Gate();
  gate.passes("A", 0);
  for (let at = 100; at <= 20_000; at += 100) gate.rest(at);
  expect(gate.passes("A", 20_100)).toBe(false);
  expect(gate.passes("B", 20_200)).toBe(true);
});

test("the middle of a frame is 70 % of each side, centred", () => {
  expect(middle(1920, 1080)).toEqual([288, 162, 1344, 756]);
});

test("the known picture is square with three finder corners on a white edge", () => {
  const { width, pixels } = knownPicture(2);
  expect(width).toBe(58);
  const dark = (x: number, y: number) => pixels[(y * 2 * width + x * 2) * 4] === 0;
  expect([dark(0, 0), dark(4, 4), dark(24, 4), dark(4, 24), dark(24, 24)]).toEqual([false, true, true, true, false]);
  expect(KNOWN_TEXT).toHaveLength(8);
});
