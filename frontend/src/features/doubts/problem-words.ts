/** What does not add up, in the words of the people who wrote it down. */
import type { Problem, StockState } from "../../core/stock/state.ts";
import { crateName, spaced, varietyName } from "../../app/names.ts";
import { lotName } from "../../app/lot-words.ts";
import { capital, countOf } from "../../app/words/index.svelte.ts";

export interface Teller {
  state: StockState;
  day: (date: string) => string;
  /** Who wrote the entry: "Ana". */
  who: (sha: string) => string;
}

type Say = (problem: Problem, tell: Teller) => string;

const fact = (problem: Problem, name: string): string => String(problem.facts[name] ?? "");
const figure = (problem: Problem, name: string): number => Number(problem.facts[name] ?? 0);
const small = (words: string): string => words.replace(/^Crate/, "crate");
const unitOf = (state: StockState, lot: string): string => state.lots[lot]?.unit ?? "tuber";

const SAY: Record<string, Say> = {
  negative_balance: (problem, { state }) => {
    const over = -figure(problem, "count");
    return `${lotName(state, fact(problem, "lot"))}: ${over} more taken out than there were.`;
  },
  check_disagrees: (problem, { state, who }) =>
    `${lotName(state, fact(problem, "lot"))}: ${who(problem.records.at(-1) ?? "")} went through all and saw ${figure(problem, "seen")}. By what was written before there were ${figure(problem, "expected")}.`,
  counts_differ: (problem, { state, who }) =>
    `${lotName(state, fact(problem, "lot"))}: ${who(problem.records[0] ?? "")} counted ${figure(problem, "first")}, ${who(problem.records[1] ?? "")} ${figure(problem, "second")} on the same day. The later count stands for now.`,
  date_clamped: (problem, { day }) =>
    `An entry carries a day that had not come yet when it reached the farm. It is kept and filed under ${day(fact(problem, "on"))}.`,
  duplicate_id: () => "Two entries carry the same number. Only the first counts.",
  code_on_two: (problem, { state }) => {
    const owner = state.codes[fact(problem, "label")];
    const first = owner ? (owner.target === "crate" ? small(crateName(state, owner.id)) : lotName(state, owner.id)) : "the first";
    return `The label ${spaced(fact(problem, "label"))} was put on more than one thing. It counts for ${first}.`;
  },
  lot_elsewhere: (problem, { state }) =>
    `${varietyName(state, state.lots[fact(problem, "lot")]?.variety ?? "")} was found in ${small(crateName(state, fact(problem, "crate")))}. By what was written before it is in ${small(crateName(state, fact(problem, "container")))}.`,
  no_origin: (problem, { state }) =>
    `${capital(lotName(state, fact(problem, "lot")))}: used, but nobody wrote down where it came from.`,
  sums_differ: (problem) =>
    `A split took ${figure(problem, "taken")} out and put ${figure(problem, "given")} in.`,
  emptied_with_stock: (problem, { state }) =>
    `${crateName(state, fact(problem, "crate"))} was found empty. By what was written before, ${countOf(figure(problem, "count"), unitOf(state, fact(problem, "lot")))} of ${varietyName(state, state.lots[fact(problem, "lot")]?.variety ?? "")} were in it.`,
  unassigned_loss: (problem) =>
    `${figure(problem, "count")} thrown out of a crate with several batches, and not said of which.`,
  not_allowed: (problem, { who }) =>
    `${who(problem.records[1] ?? "")} changed an entry of ${who(problem.records[0] ?? "")}. The change waits for a grower.`,
  target_missing: () => "A change names an entry that is not here yet.",
  bad_correction: () => "A correction does not fit the entry it corrects, so the entry stands as it was.",
  unknown_code: (problem) =>
    `The label ${spaced(fact(problem, "label"))} was ${problem.records.length === 1 ? "used" : `used ${problem.records.length} times`}, and nobody wrote down what it is on.`,
  promised_short: (problem, { state }) =>
    `${varietyName(state, fact(problem, "variety"))}: ${figure(problem, "promised")} promised, ${figure(problem, "there")} there.`,
};

/** One or two plain sentences; a problem this app does not know yet is still shown. */
export function problemSays(problem: Problem, tell: Teller): string {
  const say = SAY[problem.code];
  return say ? say(problem, tell) : `Something that needs a newer app to be named (${problem.code}).`;
}

export const GROUPS = ["counts", "where", "promised", "changes", "entries"] as const;
export type Group = (typeof GROUPS)[number];

export const groupLabel: Record<Group, string> = {
  counts: "Counts that disagree",
  where: "Where things are",
  promised: "Promised",
  changes: "Changes that wait for a grower",
  entries: "Days and entries",
};

const GROUP_OF: Record<string, Group> = {
  negative_balance: "counts",
  check_disagrees: "counts",
  counts_differ: "counts",
  no_origin: "counts",
  sums_differ: "counts",
  emptied_with_stock: "counts",
  unassigned_loss: "counts",
  lot_elsewhere: "where",
  code_on_two: "where",
  unknown_code: "where",
  promised_short: "promised",
  not_allowed: "changes",
  bad_correction: "changes",
};

export function groupOf(code: string): Group {
  return GROUP_OF[code] ?? "entries";
}

interface Said {
  kind: string;
  body: Record<string, unknown>;
}

/** What somebody without the right asks for: "Ben asks to strike out what Ana wrote." and of which entry. */
export function requestSays(
  problem: Problem,
  look: { find: (sha: string) => Said | undefined; who: (sha: string) => string; says: (entry: Said) => string },
): { asks: string; why: string; of: string } {
  const [target = "", change = ""] = problem.records;
  const [before, asked] = [look.find(target), look.find(change)];
  const by = look.who(change);
  const owner = look.who(target);
  const of = before ? `${look.says(before)}. Written by ${owner}.` : "The entry it is about is not on this phone yet.";
  const why = typeof asked?.body["why"] === "string" ? asked.body["why"] : "";
  const body = asked?.body["body"];
  if (asked?.kind === "record_corrected" && before && typeof body === "object" && body !== null) {
    const now = look.says({ kind: before.kind, body: body as Record<string, unknown> });
    return { asks: `${by} asks to correct it to: ${now}.`, why, of };
  }
  return { asks: `${by} asks to strike out what ${owner} wrote.`, why, of };
}
