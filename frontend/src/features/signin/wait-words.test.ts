import { expect, test } from "vitest";
import { tooManyTries, waitFor } from "./wait-words.ts";

test.each([
  [1, "1 second"],
  [40, "40 seconds"],
  [60, "1 minute"],
  [61, "2 minutes"],
  [3599, "60 minutes"],
  [3600, "1 hour"],
  [7300, "3 hours"],
])("%i s is %s", (seconds, words) => expect(waitFor(seconds)).toBe(words));

test("says when it is over", () => {
  expect(tooManyTries(90)).toBe("Too many tries. Wait 2 minutes, then try again.");
  expect(tooManyTries(0)).toMatch(/tried again/);
});
