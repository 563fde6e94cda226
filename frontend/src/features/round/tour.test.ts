import { expect, test } from "vitest";
import { nextCrate } from "./tour.ts";

test("goes on down the stack from the crate seen last", () => {
  expect(nextCrate(["a", "b", "c", "d"], ["b"])).toBe("c");
});
test("comes back for those passed over", () => {
  expect(nextCrate(["a", "b", "c"], ["b", "c"])).toBe("a");
});
test("a crate seen by scanning out of order does not lose the others", () => {
  const order = ["a", "b", "c", "d"];
  const seen: string[] = [];
  for (let next = nextCrate(order, ["d"]); next; next = nextCrate(order, ["d", ...seen])) seen.push(next);
  expect([...seen].sort()).toEqual(["a", "b", "c"]);
});
test("nothing is left when all were seen", () => {
  expect(nextCrate(["a"], ["a"])).toBeUndefined();
  expect(nextCrate([], [])).toBeUndefined();
});
