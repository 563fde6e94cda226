/** The ways out of a contradiction: each is one or two ordinary entries, and each really clears it. */
import { blankTable, sumOf, type Counts, type FromLine, type IntoLine, type SeenLine } from "./acts.ts";
import type { Body } from "./entries.ts";
import type { Fold } from "./fold.ts";
import type { Kind } from "./kinds.ts";
import type { Problem } from "./state.ts";

/** An entry to be written. */
export interface Way {
  kind: Kind;
  body: Body;
  occurred_on: string;
}

/** What the person chose beside the way out itself; each but the day has a sensible default. */
export interface Choice {
  today: string;
  /** What was counted. */
  count?: number;
  /** Which entry to void. */
  record?: string;
  /** The crate a code belongs to. */
  crate?: string;
  /** Which line of a check lost the tubers that were not assigned. */
  line?: number;
}

/** This problem does not stand, or does not offer this way out. */
export class NoWayOut extends Error {
  constructor(message: string) {
    super(message);
    this.name = "NoWayOut";
  }
}

/** The entries that clear a problem in this way. NoWayOut when it is not offered. */
export function waysOut(fold: Fold, key: string, out: string, choice: Choice): Way[] {
  const found = fold.problem(key);
  const way = WAYS[out];
  if (found === undefined || way === undefined || !found.outs.includes(out)) {
    throw new NoWayOut(`${out} is not offered for ${key}`);
  }
  return way({ fold, key, found, choice });
}

interface Case {
  fold: Fold;
  key: string;
  found: Problem;
  choice: Choice;
}

function accept({ key, choice }: Case): Way[] {
  return [{ kind: "problem_accepted", body: { problem: key }, occurred_on: choice.today }];
}

function voiding({ fold, found, choice }: Case): Way[] {
  const sha = choice.record || found.voidable[0] || "";
  return [{ kind: "record_voided", body: targetOf(fold, sha), occurred_on: choice.today }];
}

function targetOf(fold: Fold, sha: string): Body {
  const entry = fold.living.entries.get(sha);
  return entry && entry.id !== "" ? { target: sha, target_id: entry.id } : { target: sha };
}

function lotOf(found: Problem): string {
  return String(found.facts["lot"]);
}

function counted({ found, choice }: Case, count: number): Way[] {
  return [{ kind: "counted", body: { lot: lotOf(found), count }, occurred_on: choice.today }];
}

function recount(one: Case): Way[] {
  const balance = one.fold.state().lots[lotOf(one.found)]?.balance ?? 0;
  return counted(one, one.choice.count ?? Math.max(0, balance));
}

function foundAfterAll({ fold, found, choice }: Case): Way[] {
  const lot = lotOf(found);
  const page = fold.state().lots[lot];
  const body = {
    lot,
    unit: page?.unit ?? "tuber",
    variety: page?.variety ?? "unknown",
    count: choice.count ?? Number(found.facts["count"]),
  };
  return [{ kind: "found", body, occurred_on: choice.today }];
}

function move(where: "crate" | "container"): (one: Case) => Way[] {
  return ({ found, choice }) => {
    const body = { lot: lotOf(found), container: String(found.facts[where]) };
    return [{ kind: "moved", body, occurred_on: choice.today }];
  };
}

function label({ found, choice }: Case): Way[] {
  if (!choice.crate) throw new NoWayOut("say which crate carries the code");
  const body = { code: String(found.facts["label"]), target: "crate", id: choice.crate };
  return [{ kind: "labelled", body, occurred_on: choice.today }];
}

function countToo(one: Case): Way[] {
  const entry = one.fold.living.entries.get(one.found.records[1] ?? "");
  if (entry === undefined) throw new NoWayOut("the entry is not here any more");
  return [{ kind: entry.kind as Kind, body: entry.body, occurred_on: entry.occurred_on }, ...accept(one)];
}

function correct({ fold, found, choice }: Case): Way[] {
  const sha = found.records[0] ?? "";
  const reading = fold.living.reading(sha);
  const mend = MENDS[found.code];
  if (reading === null || mend === undefined) throw new NoWayOut("the entry does not count any more");
  const body = {
    ...targetOf(fold, sha),
    as_v: reading.v,
    body: mend(reading.body, choice),
    occurred_on: fold.index.act(sha)?.on ?? reading.occurred_on,
  };
  return [{ kind: "record_corrected", body, occurred_on: choice.today }];
}

/** What was taken is what was given: the first lot bears it. */
function even(body: Body): Body {
  const given = (body["into"] as IntoLine[]).reduce((sum, line) => sum + line.count, 0);
  const from = (body["from"] as FromLine[]).map((line, i) => ({
    ...line,
    count: sumOf(line.thrown_out) + (i === 0 ? given : 0),
  }));
  return { ...body, from };
}

/** The tubers thrown out from "one of these" belong to the chosen line. */
function assigned(body: Body, choice: Choice): Body {
  const { unassigned, ...rest } = body;
  const lines = (body["lines"] as SeenLine[]).map((line, i) => {
    if (i !== (choice.line ?? 0)) return line;
    const removed: Counts = Object.assign(blankTable<number>(), line.removed);
    for (const [cause, count] of Object.entries(unassigned as Counts)) {
      removed[cause] = (removed[cause] ?? 0) + count;
    }
    return { ...line, removed };
  });
  return { ...rest, lines };
}

const MENDS: Readonly<Record<string, (body: Body, choice: Choice) => Body>> = {
  date_clamped: (body) => body,
  sums_differ: even,
  unassigned_loss: assigned,
};

const WAYS: Readonly<Record<string, (one: Case) => Way[]>> = {
  accept,
  void: voiding,
  recount,
  there_were_more: (one) => counted(one, 0),
  found: foundAfterAll,
  move_here: move("crate"),
  move_back: move("container"),
  label,
  count_too: countToo,
  correct,
};
