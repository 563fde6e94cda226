import { describe, expect, it } from "vitest";
import type { Problem } from "../../core/stock/state.ts";
import { signed, stepsBefore, stepsOf, sumSays, workedOut, type Step, type SumWords } from "./sums.ts";

const step = (record: string, amount: number, account = amount > 0 ? "packed" : "sold", on = "2026-12-01"): Step => ({
  record, account, amount, on, cause: "", how: "",
});
const words: SumWords = { day: (date) => date, term: (one) => one.account };
const problem = (code: string, facts: Problem["facts"], records = ["a", "b"]): Problem => ({
  code, records, voidable: [], facts, outs: [], accepted: "",
});
const none = { promises: {} };

describe("a sum", () => {
  it("is written as on paper", () => {
    expect(sumSays([step("p", 34), step("a", -20), step("b", -16)], words)).toBe("34 packed − 20 sold − 16 sold = −2");
  });
  it("takes what one entry did in one word as one term, and not what two did", () => {
    expect(sumSays([step("p", 34), step("a", -2, "rot"), step("a", -1, "rot"), step("a", -1, "eaten")], words)).toBe("34 packed − 3 rot − 1 eaten = 30");
  });
  it("can begin below nothing and go up", () => {
    expect(sumSays([step("a", -3), step("c", 3, "by a count")], words)).toBe("−3 sold + 3 by a count = 0");
  });
  it("folds what is long ago into one term, so that every figure still adds up", () => {
    const steps = [step("p", 100), ...Array.from({ length: 20 }, (_, i) => step(`s${i}`, -1, "sold", `2026-12-${10 + i}`))];
    expect(sumSays(steps, words)).toBe("87 before 2026-12-23 − 1 sold − 1 sold − 1 sold − 1 sold − 1 sold − 1 sold − 1 sold = 80");
  });
  it("is no sum when there is one figure", () => {
    expect(sumSays([step("p", 36)], words)).toBe("36 packed");
  });
  it("writes a figure below nothing with the sign of a sum", () => {
    expect([signed(-2), signed(0), signed(3)]).toEqual(["−2", "0", "3"]);
  });
});

describe("the part before an entry", () => {
  const steps = [step("p", 34), step("a", -3, "rot"), step("b", -3, "rot")];
  it("ends where the entry begins", () => {
    expect(stepsBefore(steps, "b", 31).map((one) => one.record)).toEqual(["p", "a"]);
  });
  it("of an entry that moved nothing is the beginning that comes to it", () => {
    expect(stepsBefore(steps, "check", 28)).toEqual(steps);
    expect(stepsBefore(steps, "check", 34).map((one) => one.record)).toEqual(["p"]);
  });
  it("is nothing when nothing comes to it: no sum is better than a wrong one", () => {
    expect(stepsBefore(steps, "b", 33)).toEqual([]);
  });
});

describe("what is worked out", () => {
  const posted = () => [step("p", 34), step("a", -20), step("b", -16)];
  it("ends in the figure of a batch below nothing", () => {
    const one = problem("negative_balance", { lot: "l", count: -2 });
    expect(workedOut(one, stepsOf(one, posted), none, words)).toEqual(["34 packed − 20 sold − 16 sold = −2"]);
  });
  it("sets what was seen against what the book came to", () => {
    const one = problem("check_disagrees", { lot: "l", seen: 12, expected: 14 }, ["b"]);
    expect(workedOut(one, stepsOf(one, posted), none, words)).toEqual(["34 packed − 20 sold = 14", "14 by the book, 12 seen: 2 fewer"]);
  });
  it("says how far two counts lie apart", () => {
    const one = problem("counts_differ", { lot: "l", first: 31, second: 34 }, ["c", "d"]);
    expect(workedOut(one, stepsOf(one, posted), none, words).at(-1)).toBe("31 counted, then 34: 3 more");
  });
  it("adds up what is promised", () => {
    const promises = { a: { count: 10 }, b: { count: 5 } } as never;
    const one = problem("promised_short", { variety: "v", promised: 15, there: 12 });
    expect(workedOut(one, [], { promises }, words)).toEqual(["10 + 5 = 15 promised", "15 still to go out, 12 there: 3 short"]);
  });
  it("sets both halves of a split against each other", () => {
    const one = problem("sums_differ", { taken: 12, given: 10 }, ["a"]);
    expect(workedOut(one, [], none, words)).toEqual(["12 taken out, 10 put in: 2 fewer"]);
  });
  it("adds up nothing where there is nothing to add", () => {
    const one = problem("not_allowed", {});
    expect(workedOut(one, stepsOf(one, posted), none, words)).toEqual([]);
  });
});
