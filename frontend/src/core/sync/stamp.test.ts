import fc from "fast-check";
import { expect, test } from "vitest";
import { afterSeeing, compareStamps, nextStamp, type Stamp } from "./stamp.ts";

const stamp = fc.tuple(fc.nat(1e6), fc.nat(100)) as fc.Arbitrary<Stamp>;

test("a new stamp is later than every stamp seen, whatever the wall clock says", () => {
  fc.assert(
    fc.property(stamp, fc.array(stamp), fc.nat(2e6), (own, seen, wall) => {
      const clock = seen.reduce(afterSeeing, own);
      const next = nextStamp(clock, wall);
      for (const one of [own, ...seen]) expect(compareStamps(next, one)).toBeGreaterThan(0);
    }),
  );
});

test("a clock that runs is followed; one that stands still counts up", () => {
  expect(nextStamp([10, 3], 11)).toEqual([11, 0]);
  expect(nextStamp([10, 3], 10)).toEqual([10, 4]);
  expect(nextStamp([10, 3], 2)).toEqual([10, 4]);
});
