/** The entries that a way out writes. */
import type { Problem, StockState } from "../../core/stock/state.ts";
import type { Draft, LocalEntry } from "../../sync/session.ts";

export interface Choice {
  today: string;
  count?: number | undefined;
  record?: string | undefined;
  crate?: string | undefined;
  line?: number | undefined;
}

type Find = (sha: string) => LocalEntry | undefined;
type Body = Record<string, unknown>;
interface Asked {
  key: string;
  problem: Problem;
  state: StockState;
  find: Find;
  choice: Choice;
}

const fact = (problem: Problem, name: string): string => String(problem.facts[name] ?? "");

/** What this way out writes; [] when an entry it needs is not on this phone. */
export function draftsFor(out: string, asked: Asked): Draft[] {
  return (WRITE[out]?.(asked) ?? []).map((draft) => ({ occurred_on: asked.choice.today, ...draft }));
}

const target = (find: Find, sha: string): Body => ({ target: sha, target_id: find(sha)?.id });

const accept = ({ key }: Asked): Draft => ({ kind: "problem_accepted", body: { problem: key } });

const WRITE: Record<string, (asked: Asked) => Draft[]> = {
  accept: (asked) => [accept(asked)],
  void: ({ find, choice }) =>
    choice.record && find(choice.record) ? [{ kind: "record_voided", body: target(find, choice.record) }] : [],
  recount: ({ problem, state, choice }) => {
    const lot = fact(problem, "lot");
    const count = choice.count ?? Math.max(0, state.lots[lot]?.balance ?? 0);
    return [{ kind: "counted", body: { lot, count } }];
  },
  there_were_more: ({ problem }) => [{ kind: "counted", body: { lot: fact(problem, "lot"), count: 0 } }],
  found: ({ problem, state, choice }) => {
    const lot = fact(problem, "lot");
    const page = state.lots[lot];
    const count = choice.count ?? Number(problem.facts["count"] ?? 0);
    return [{ kind: "found", body: { lot, unit: page?.unit ?? "tuber", variety: page?.variety || "unknown", count } }];
  },
  move_here: ({ problem }) => [{ kind: "moved", body: { lot: fact(problem, "lot"), container: fact(problem, "crate") } }],
  move_back: ({ problem }) => [{ kind: "moved", body: { lot: fact(problem, "lot"), container: fact(problem, "container") } }],
  label: ({ problem, choice }) =>
    choice.crate ? [{ kind: "labelled", body: { code: fact(problem, "label"), target: "crate", id: choice.crate } }] : [],
  count_too: (asked) => {
    const entry = asked.find(asked.problem.records[1] ?? "");
    if (!entry) return [];
    return [{ kind: entry.kind as Draft["kind"], body: entry.body, occurred_on: entry.occurred_on }, accept(asked)];
  },
  correct: ({ problem, find, choice }) => {
    const sha = problem.records[0] ?? "";
    const entry = find(sha);
    if (!entry) return [];
    const on = fact(problem, "on") || entry.occurred_on;
    const body = mended(problem, entry.body, choice.line ?? 0);
    return [{ kind: "record_corrected", body: { ...target(find, sha), as_v: entry.v, body, occurred_on: on } }];
  },
};

function mended(problem: Problem, body: Body, line: number): Body {
  if (problem.code === "sums_differ") return even(body);
  if (problem.code === "unassigned_loss") return assigned(body, line);
  return body;
}

type Line = Body & { count?: number; thrown_out?: Record<string, number>; removed?: Record<string, number> };
const sum = (counts: Record<string, number> = {}): number => Object.values(counts).reduce((all, one) => all + one, 0);

/** What was taken is what was given: the first lot bears it. */
function even(body: Body): Body {
  const given = (body["into"] as Line[]).reduce((all, line) => all + (line.count ?? 0), 0);
  const from = (body["from"] as Line[]).map((line, index) => ({
    ...line,
    count: sum(line.thrown_out) + (index === 0 ? given : 0),
  }));
  return { ...body, from };
}

/** The tubers thrown out from "one of these" belong to the chosen line. */
function assigned(body: Body, chosen: number): Body {
  const lines = (body["lines"] as Line[]).map((line, index) => {
    if (index !== chosen) return line;
    const removed: Record<string, number> = { ...line.removed };
    for (const [cause, count] of Object.entries(body["unassigned"] as Record<string, number>)) {
      removed[cause] = (removed[cause] ?? 0) + count;
    }
    return { ...line, removed };
  });
  const { unassigned: _, ...rest } = body;
  return { ...rest, lines };
}
