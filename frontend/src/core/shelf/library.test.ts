import fc from "fast-check";
import { expect, test } from "vitest";
import { Library } from "./library.ts";

const texts = fc.oneof(fc.string({ unit: "binary" }), fc.uuid(), fc.constantFrom("", "\ud800", "__proto__", "lot 00000000-0000-4000-8000-000000000001", "ab".repeat(32), `ÿ${"0f".repeat(32)}`));
const values = fc.letrec<{ value: unknown }>((tie) => ({
  value: fc.oneof(
    { depthSize: "small" },
    fc.constantFrom(null, true, false, 0, -1, 2 ** 53 - 1, -(2 ** 53 - 1), 0.1, -0, 1e300),
    texts,
    fc.array(tie("value"), { maxLength: 4 }),
    fc.dictionary(texts, tie("value"), { maxKeys: 4, noNullPrototype: false }),
  ),
})).value;

const changes = fc.array(fc.tuple(fc.constantFrom("a", "b", "c", "lot 00000000-0000-4000-8000-000000000001"), fc.option(values, { nil: undefined })), { maxLength: 8 });

test("a table gives back what was put in last, through any packing and merging", () => {
  fc.assert(
    fc.property(fc.array(changes, { minLength: 1, maxLength: 6 }), fc.boolean(), (rounds, merge) => {
      const wanted = new Map<string, unknown>();
      let library = new Library();
      for (const round of rounds) {
        const shelf = library.shelf<unknown>("things");
        for (const [key, value] of round) {
          if (value === undefined) {
            shelf.delete(key);
            wanted.delete(key);
          } else {
            shelf.set(key, value);
            wanted.set(key, value);
          }
        }
        library.seal();
        if (merge && library.segments.length > 1) library.merge(library.smallestPair());
        library = new Library(structuredClone(library.segments));
      }
      const shelf = library.shelf<unknown>("things");
      expect(shelf.keys()).toEqual(new Set(wanted.keys()));
      for (const [key, value] of wanted) expect(shelf.get(key)).toStrictEqual(value);
      expect(shelf.get("never")).toBeUndefined();
    }),
    { seed: 20261127, numRuns: 500 },
  );
});

test("lists that only grow are told in order, each text once, over packing and merging", () => {
  const library = new Library();
  const trail = library.trail("names");
  trail.add("x", "1");
  trail.append("x", "2");
  library.seal();
  trail.add("x", "2");
  trail.append("x", "3");
  trail.append("y", "1");
  expect([...(trail.get("x") ?? [])]).toEqual(["1", "2", "3"]);
  library.seal();
  library.merge(0);
  expect([...(trail.get("x") ?? [])]).toEqual(["1", "2", "3"]);
  expect([...(trail.get("y") ?? [])]).toEqual(["1"]);
  expect(trail.get("z")).toBeUndefined();
  expect([trail.has("x"), trail.has("z")]).toEqual([true, false]);
});

test("segments far larger than their first room hold what was put in", () => {
  const library = new Library();
  const shelf = library.shelf<{ n: number; text: string; more: number[] }>("many");
  const made = (n: number) => ({ n, text: `text ${n} ${"é".repeat(n % 50)}`, more: [n, n * 1e6, -n] });
  for (let n = 0; n < 20_000; n += 1) shelf.set(`key ${n}`, made(n));
  library.seal();
  const again = new Library(structuredClone(library.segments)).shelf<ReturnType<typeof made>>("many");
  for (let n = 0; n < 20_000; n += 1) expect(again.peek(`key ${n}`)).toEqual(made(n));
});

test("after packing nothing is held as an object, and what is asked for again is the same", () => {
  const library = new Library();
  const shelf = library.shelf<number[]>("lists");
  shelf.set("one", [1]);
  const before = shelf.get("one");
  library.seal();
  expect(library.size).toBe(0);
  const after = shelf.get("one");
  expect(after).not.toBe(before);
  expect(shelf.get("one")).toBe(after);
});
