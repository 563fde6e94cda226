import { expect, test } from "vitest";
import { clearer, sharpen, stretch, toGrey } from "./stretch.ts";

test("green weighs most in grey, as the eye sees it (ITU-R BT.601 luma)", () => {
  const [red, green, blue] = toGrey(Uint8ClampedArray.of(255, 0, 0, 255, 0, 255, 0, 255, 0, 0, 255, 255));
  expect([red, green, blue]).toEqual([76, 149, 28]);
});

test("a dim picture fills the whole range", () => {
  const dim = Uint8ClampedArray.from({ length: 100 }, (_, i) => 10 + (i % 2) * 12);
  const out = stretch(dim);
  expect([Math.min(...out), Math.max(...out)]).toEqual([0, 255]);
});

test("a picture of one shade stays as it is", () => {
  const flat = new Uint8ClampedArray(50).fill(7);
  expect(stretch(flat)).toEqual(flat);
  expect(sharpen(flat, 10, 5)).toEqual(flat);
});

test("an edge grows steeper and nothing is read beyond the picture", () => {
  const soft = Uint8ClampedArray.from({ length: 400 }, (_, i) => (i % 20 < 10 ? 100 : 140));
  const out = sharpen(soft, 20, 20);
  expect(out[9]).toBeLessThan(100);
  expect(out[10]).toBeGreaterThan(140);
  expect(out[0]).toBe(100);
});

test("the cleared picture has the size it had and no see-through", () => {
  const out = clearer(new Uint8ClampedArray(4 * 6).fill(90), 3, 2);
  expect(out).toHaveLength(24);
  expect(out[3]).toBe(255);
});
