import { expect, test } from "vitest";
import { NoAnswer, readHead, readPull, readPush } from "./transport.ts";

const link = "ab".repeat(16);

test("a head is a number and a link of 32 hex digits", () => {
  expect(readHead([7, link])).toEqual({ seq: 7, chain: link });
  for (const wrong of [null, "7", [], [7], ["7", link], [7.5, link], [2 ** 60, link], [7, "xyz"], [7, link.slice(1)], [7, link.toUpperCase()], [7, `${link}0`]]) {
    expect(() => readHead(wrong)).toThrow(NoAnswer);
  }
});

test("a pull answers with entries and a head, or it is no answer", () => {
  expect(readPull({ entries: [], head: [0, link] })).toEqual({ entries: [], head: { seq: 0, chain: link } });
  for (const wrong of [null, {}, { entries: {}, head: [0, link] }, { entries: [] }, { head: [0, link] }]) {
    expect(() => readPull(wrong)).toThrow(NoAnswer);
  }
});

test("a push answers with verdicts, of which those without a hash teach nothing", () => {
  const verdict = { sha256: "00".repeat(32), verdict: "stored", seq: 1 };
  expect(readPush({ verdicts: [verdict, {}, null, { sha256: 5 }] })).toEqual({ verdicts: [verdict] });
  for (const wrong of [null, {}, { verdicts: {} }, "stored"]) expect(() => readPush(wrong)).toThrow(NoAnswer);
});
