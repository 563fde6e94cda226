/** The sum that does not work out, written the way it is done on paper. Pure. */
import type { Posting, Problem, StockState } from "../../core/stock/state.ts";

export type Step = Pick<Posting, "record" | "account" | "cause" | "how" | "amount" | "on">;

export interface SumWords {
  day: (date: string) => string;
  /** "packed", "sold", "rot": what an amount is. */
  term: (step: Step) => string;
}

/** Terms shown one by one; what came before them is one term. */
const MOST_TERMS = 8;

/** "−2", with the sign that a figure of a sum has. */
export function signed(count: number): string {
  return count < 0 ? `−${-count}` : String(count);
}

/** "34 packed − 20 sold − 16 sold = −2"; one term alone is no sum: "34 packed". */
export function sumSays(steps: readonly Step[], words: SumWords): string {
  const merged = mergeAlike(steps, words);
  const shown = merged.length > MOST_TERMS ? merged.slice(-MOST_TERMS + 1) : merged;
  const [first] = shown;
  const early = merged.slice(0, merged.length - shown.length).reduce((sum, one) => sum + one.amount, 0);
  const before = merged.length > shown.length && first ? [{ amount: early, said: `before ${words.day(first.on)}` }] : [];
  const terms = [...before, ...shown];
  const total = steps.reduce((sum, one) => sum + one.amount, 0);
  const said = terms.map(({ amount, said }, i) => {
    if (i === 0) return `${signed(amount)} ${said}`;
    return `${amount < 0 ? "−" : "+"} ${Math.abs(amount)} ${said}`;
  });
  return terms.length > 1 ? `${said.join(" ")} = ${signed(total)}` : said.join("");
}

interface Term {
  amount: number;
  said: string;
  on: string;
  record: string;
}

/** What one entry took away in one word is one term. */
function mergeAlike(steps: readonly Step[], words: SumWords): Term[] {
  const terms: Term[] = [];
  for (const step of steps) {
    const said = words.term(step);
    const last = terms.at(-1);
    if (last?.record === step.record && last.said === said) last.amount += step.amount;
    else terms.push({ amount: step.amount, said, on: step.on, record: step.record });
  }
  return terms;
}

/**
 * The steps before this entry that make `expected`: up to the entry's own, else the longest
 * beginning that comes to it. Empty when none does.
 */
export function stepsBefore(steps: readonly Step[], record: string, expected: number): Step[] {
  const own = steps.findIndex((one) => one.record === record);
  for (let end = own >= 0 ? own : steps.length; end > 0; end -= 1) {
    const part = steps.slice(0, end);
    if (part.reduce((sum, one) => sum + one.amount, 0) === expected) return part;
  }
  return [];
}

/** The entries whose amounts make the sum of a contradiction. */
export function stepsOf(problem: Problem, postedTo: (lot: string) => readonly Step[]): Step[] {
  const { code, facts, records } = problem;
  const lot = facts["lot"];
  if (typeof lot !== "string") return [];
  const steps = postedTo(lot);
  const last = records.at(-1) ?? "";
  if (code === "negative_balance" || code === "no_origin") return [...steps];
  if (code === "check_disagrees") return stepsBefore(steps, last, Number(facts["expected"]));
  if (code === "emptied_with_stock") return stepsBefore(steps, last, Number(facts["count"]));
  if (code === "counts_differ") {
    const [first = ""] = records;
    const upTo = steps.findIndex((one) => one.record === first);
    return upTo > 0 ? steps.slice(0, upTo) : [];
  }
  return [];
}

/** The sum in one or two lines; none where nothing is added up. */
export function workedOut(
  problem: Problem,
  steps: readonly Step[],
  state: Pick<StockState, "promises">,
  words: SumWords,
): string[] {
  const figure = (name: string): number => Number(problem.facts[name] ?? 0);
  const apart = (a: number, b: number): string => `${Math.abs(a - b)} ${a > b ? "fewer" : "more"}`;
  const sum = steps.length > 0 ? [sumSays(steps, words)] : [];
  switch (problem.code) {
    case "check_disagrees": {
      const [seen, expected] = [figure("seen"), figure("expected")];
      return [...sum, `${expected} by the book, ${seen} seen: ${apart(expected, seen)}`];
    }
    case "counts_differ": {
      const [first, second] = [figure("first"), figure("second")];
      return [...sum, `${first} counted, then ${second}: ${apart(first, second)}`];
    }
    case "emptied_with_stock":
      return [...sum, `${figure("count")} by the book, none left in it: ${apart(figure("count"), 0)}`];
    case "sums_differ": {
      const [taken, given] = [figure("taken"), figure("given")];
      return [`${taken} taken out, ${given} put in: ${apart(taken, given)}`];
    }
    case "promised_short": {
      const counts = problem.records.flatMap((sha) => state.promises[sha]?.count ?? []);
      const promised = counts.length > 1 ? `${counts.join(" + ")} = ${counts.reduce((a, b) => a + b, 0)} promised` : "";
      const [all, there] = [figure("promised"), figure("there")];
      return [...(promised ? [promised] : []), `${all} still to go out, ${there} there: ${all - there} short`];
    }
    default:
      return sum;
  }
}
