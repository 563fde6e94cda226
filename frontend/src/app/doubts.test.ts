import { expect, it } from "vitest";
import type { Problem } from "../core/stock/state.ts";
import { cratesOf, doubtHref, doubtsAbout, doubtsByEntry } from "./doubts.ts";

const problem = (facts: Problem["facts"], records: string[], accepted = ""): Problem => ({ code: "x", records, voidable: [], facts, outs: [], accepted });
const problems = {
  a: problem({ lot: "l1" }, ["s1", "s2"]),
  b: problem({ lot: "l2", crate: "c2", container: "c1" }, ["s2", "s2"]),
  c: problem({ lot: "l1" }, ["s1"], "done"),
};

it("finds the open contradictions of a thing and of an entry", () => {
  expect(doubtsAbout({ problems }, "c1", [])).toEqual(["b"]);
  expect(doubtsAbout({ problems }, "", ["l1"])).toEqual(["a"]);
  expect([...doubtsByEntry(problems)]).toEqual([["s1", ["a"]], ["s2", ["a", "b"]]]);
});

it("names the crates that one speaks of, also the one its batch lies in", () => {
  const state = { lots: { l2: { container: "c3" } } } as never;
  expect(cratesOf(problems.b, state)).toEqual(["c2", "c1", "c3"]);
  expect(cratesOf(problems.a, state)).toEqual([]);
});

it("has an address whatever the key holds", () => {
  expect(doubtHref("unknown_code:4K7Q/M2X1?")).toBe("/doubts/unknown_code%3A4K7Q%2FM2X1%3F");
});
