import { expect, test } from "vitest";
import { GATE, tallyStrokes } from "./tally-marks.ts";

test("every fifth stroke crosses the four before it", () => {
  const strokes = tallyStrokes(12, []);
  expect(strokes.map((one) => one.crossing)).toEqual([0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0].map(Boolean));
  expect(strokes[5]?.x).toBe(GATE);
});
test("one stroke a thing, those struck at the end by their cause", () => {
  expect(tallyStrokes(2, [1, 2]).map((one) => one.group)).toEqual([-1, -1, 0, 1, 1]);
});
