/** The ways out of a contradiction as buttons: what each says, and what it chooses. */
import type { Problem, StockState } from "../../core/stock/state.ts";
import { lotName } from "../../app/lot-words.ts";
import { crateName } from "../../app/names.ts";
import { KINDS, type Kind } from "../../core/stock/kinds.ts";

export interface Way {
  out: string;
  label: string;
  /** What it writes, in one sentence. */
  will: string;
  /** Something to fill in first; "why" may stay empty. */
  asks: "" | "count" | "crate" | "why";
  count?: number;
  record?: string;
  line?: number;
}

const small = (words: string): string => words.replace(/^Crate/, "crate");
const figure = (problem: Problem, name: string): number => Number(problem.facts[name] ?? 0);
const fact = (problem: Problem, name: string): string => String(problem.facts[name] ?? "");

/** Ways that stand below the entries; taking one back stands beside it. */
export function waysOf(problem: Problem, state: StockState, who: (sha: string) => string): Way[] {
  const beside = problem.code === "not_allowed" ? "" : "void";
  return problem.outs.filter((out) => out !== beside).flatMap((out) => (WAYS[out] ?? unknownWay(out))(problem, state, who));
}

/** Entries that can be taken back to clear it, in the order they are shown. */
export function takeBack(problem: Problem): string[] {
  if (!problem.outs.includes("void")) return [];
  const { voidable } = problem;
  return [...problem.records.filter((sha) => voidable.includes(sha)), ...voidable.filter((sha) => !problem.records.includes(sha))];
}

type Make = (problem: Problem, state: StockState, who: (sha: string) => string) => Way[];

const unknownWay = (out: string): Make => () => [{ out, label: out.replaceAll("_", " "), will: "", asks: "" }];
const one = (out: string, label: string, will: string, asks: Way["asks"] = ""): Way[] => [{ out, label, will, asks }];

const WAYS: Record<string, Make> = {
  accept: (problem) => {
    if (problem.code === "not_allowed") return one("accept", "Do as asked", "The change counts from now on, as if a grower had made it.");
    return one("accept", ACCEPT[problem.code] ?? "Leave it as it is", KEPT[problem.code] ?? "No count changes. It comes off this list, with your reason.", "why");
  },
  there_were_more: (problem) =>
    one("there_were_more", `There ${figure(problem, "count") === -1 ? "was 1" : `were ${-figure(problem, "count")}`} more to begin with`, "Writes a count of 0 for today: what was missing counts as not written down before."),
  move_here: (problem, state) =>
    one("move_here", `It is in ${small(crateName(state, fact(problem, "crate")))} now`, "Writes that it was moved there."),
  move_back: (problem, state) =>
    one("move_back", `It is in ${small(crateName(state, fact(problem, "container")))}`, "Writes that it lies there; what was seen stays written."),
  count_too: () => one("count_too", "Count both", "Writes the second entry once more under a number of its own, so that both count."),
  found: () => one("found", "They were there: write down how many", "Writes that they were found, so that the batch has a beginning.", "count"),
  label: () => one("label", "It is on this crate", "Writes that the label hangs on the crate you choose; what was seen under it belongs to that crate.", "crate"),
  void: (problem) => [
    { out: "void", label: "Leave it", will: "The change is struck out, and the entry stands as it was written.", asks: "", record: problem.voidable[0] ?? "" },
  ],
  recount: (problem, state, who) => [
    ...seenBefore(problem, state, who),
    { out: "recount", label: "Count again", will: "Writes a count for today. The book goes by it, and the entries before stay as they are.", asks: "count" },
  ],
  correct: (problem, state) => corrections(problem, state),
};

const ACCEPT: Record<string, string> = {
  emptied_with_stock: "They are gone, nobody knows where",
  date_clamped: "Leave it where it is filed",
  promised_short: "I know",
  duplicate_id: "It is the same, written twice",
  unassigned_loss: "Nobody can say of which",
};
const KEPT: Record<string, string> = {
  emptied_with_stock: "They stay not accounted for. It comes off this list, with your reason.",
  promised_short: "The promises stand. It comes back to this list when more is missing.",
  duplicate_id: "The first counts, the second does not. It comes off this list, with your reason.",
  bad_correction: "The entry stands as it was. It comes off this list, with your reason.",
  code_on_two: "The label counts for the first. It comes off this list, with your reason.",
};

/** Where striking out the other entries would only make a riddle of it. */
const ONLY_CLEARING = new Set(["duplicate_id", "target_missing", "bad_correction"]);

/** What taking back an entry writes; null where it is not offered beside the entry. */
export function takingBack(problem: Problem, sha: string): { will: string; clears: boolean } | null {
  const clears = takeBack(problem).includes(sha);
  if (problem.code === "not_allowed" || (!clears && ONLY_CLEARING.has(problem.code))) return null;
  const will = clears ? "Strikes this entry out; it stays to be seen." : "Strikes this entry out; it may not settle it alone.";
  return { will, clears };
}

/** Kinds of entry that a way out writes. */
export function writesOf(out: string, second?: string): Kind[] {
  if (out === "count_too") return [...KINDS.filter((kind) => kind === second), "problem_accepted"];
  return WRITES[out] ?? [];
}
const WRITES: Record<string, Kind[]> = {
  accept: ["problem_accepted"],
  void: ["record_voided"],
  recount: ["counted"],
  there_were_more: ["counted"],
  found: ["found"],
  move_here: ["moved"],
  move_back: ["moved"],
  label: ["labelled"],
  correct: ["record_corrected"],
};

/** "34, as Ana counted" for each count that somebody already made. */
function seenBefore(problem: Problem, state: StockState, who: (sha: string) => string): Way[] {
  const use = (count: number, sha: string): Way => ({
    out: "recount",
    label: `${count}, as ${who(sha)} counted`,
    will: `Writes a count of ${count} for today.`,
    asks: "",
    count,
  });
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
  if (problem.code === "sums_differ") {
    return one("correct", `${figure(problem, "given")} were taken out`, "Corrects the split to that; as it was written stays to be seen, struck through.");
  }
  if (problem.code === "date_clamped") return one("correct", "Write that day into the entry", "Corrects the day of the entry to the one it is filed under.");
  const lines = state.checks[problem.records[0] ?? ""]?.lines ?? [];
  if (problem.code !== "unassigned_loss" || lines.length === 0) return one("correct", "Put it right", "Corrects the entry.");
  return lines.map((line, index) => ({
    out: "correct",
    label: `They were ${lotName(state, line.lot)}`,
    will: "Corrects the check: they were thrown out of this batch.",
    asks: "",
    line: index,
  }));
}
