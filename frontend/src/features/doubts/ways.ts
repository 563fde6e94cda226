/** The ways out of a contradiction as buttons: what each says, and what it chooses. */
import type { Problem, StockState } from "../../core/stock/state.ts";
import { lotName } from "../../app/lot-words.ts";
import { crateName } from "../../app/names.ts";

export interface Way {
  out: string;
  label: string;
  /** Something to fill in first. */
  asks: "" | "count" | "crate";
  count?: number;
  record?: string;
  line?: number;
}

const small = (words: string): string => words.replace(/^Crate/, "crate");
const figure = (problem: Problem, name: string): number => Number(problem.facts[name] ?? 0);
const fact = (problem: Problem, name: string): string => String(problem.facts[name] ?? "");

/** Ways that stand below the entries; taking one back stands beside it. */
export function waysOf(problem: Problem, state: StockState, who: (sha: string) => string): Way[] {
  return problem.outs.filter((out) => out !== "void").flatMap((out) => (WAYS[out] ?? unknownWay(out))(problem, state, who));
}

/** Entries that can be taken back to clear it, in the order they are shown. */
export function takeBack(problem: Problem): string[] {
  if (!problem.outs.includes("void")) return [];
  const { voidable } = problem;
  return [...problem.records.filter((sha) => voidable.includes(sha)), ...voidable.filter((sha) => !problem.records.includes(sha))];
}

/** Entries to show: those that disagree, and those that can be taken back. */
export function entriesOf(problem: Problem): string[] {
  return [...new Set([...problem.records, ...takeBack(problem)])];
}

type Make = (problem: Problem, state: StockState, who: (sha: string) => string) => Way[];

const unknownWay = (out: string): Make => () => [{ out, label: out.replaceAll("_", " "), asks: "" }];
const one = (out: string, label: string): Way[] => [{ out, label, asks: "" }];

const WAYS: Record<string, Make> = {
  accept: (problem) => one("accept", problem.code === "not_allowed" ? "Let the change count" : ACCEPT[problem.code] ?? "Leave it as it is"),
  there_were_more: (problem) => one("there_were_more", `There were ${-figure(problem, "count")} more to begin with`),
  move_here: (problem, state) => one("move_here", `It is in ${small(crateName(state, fact(problem, "crate")))} now`),
  move_back: (problem, state) => one("move_back", `It is in ${small(crateName(state, fact(problem, "container")))}`),
  count_too: () => one("count_too", "Count both"),
  found: () => [{ out: "found", label: "They were there: write down how many", asks: "count" }],
  label: () => [{ out: "label", label: "It is on this crate", asks: "crate" }],
  recount: (problem, state, who) => [...seenBefore(problem, state, who), { out: "recount", label: "Count again", asks: "count" }],
  correct: (problem, state) => corrections(problem, state),
};

const ACCEPT: Record<string, string> = {
  emptied_with_stock: "They are gone, nobody knows where",
  date_clamped: "Leave it where it is filed",
  promised_short: "I know",
};

/** "There are 34, as Ana saw" for each count that somebody already made. */
function seenBefore(problem: Problem, state: StockState, who: (sha: string) => string): Way[] {
  const use = (count: number, sha: string): Way => ({ out: "recount", label: `${count}, as ${who(sha)} counted`, asks: "", count });
  if (problem.code === "counts_differ") {
    return [use(figure(problem, "first"), problem.records[0] ?? ""), use(figure(problem, "second"), problem.records[1] ?? "")];
  }
  if (problem.code !== "check_disagrees") return [];
  const sha = problem.records.at(-1) ?? "";
  const line = state.checks[sha]?.lines.find((each) => each.lot === problem.facts["lot"]);
  if (!line) return [];
  const removed = Object.values(line.removed).reduce((sum, count) => sum + count, 0);
  return [use(Math.max(0, line.seen - removed), sha)];
}

function corrections(problem: Problem, state: StockState): Way[] {
  if (problem.code === "sums_differ") return one("correct", `${figure(problem, "given")} were taken out`);
  if (problem.code === "date_clamped") return one("correct", "Write that day into the entry");
  const lines = state.checks[problem.records[0] ?? ""]?.lines ?? [];
  if (problem.code !== "unassigned_loss" || lines.length === 0) return one("correct", "Put it right");
  return lines.map((line, index) => ({ out: "correct", label: `They were ${lotName(state, line.lot)}`, asks: "", line: index }));
}
