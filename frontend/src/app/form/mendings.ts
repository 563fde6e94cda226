/** How an entry reads now: undone, corrected, or as it was written. Pure. */
import type { StockState } from "../../core/stock/state.ts";
import type { LocalEntry } from "../../sync/session.ts";

export interface Standing {
  undone: boolean;
  /** The undo that counts, when there is one. */
  undoneBy: LocalEntry | null;
  /** The correction that counts, when there is one. */
  corrected: LocalEntry | null;
  body: Record<string, unknown>;
  occurred_on: string;
  v: number;
}

/** The part of the stock that says which mendings do not count. */
export type Doubts = Pick<StockState, "problems">;

/**
 * `around` holds the entries that name `entry`, and those that name these, in any order.
 * A helper's mending of somebody else's entry counts once a grower has accepted it; a correction
 * that does not fit its entry never does.
 */
export function standingOf(entry: LocalEntry, around: readonly LocalEntry[], doubts: Doubts): Standing {
  const on = (sha: string, kind: string) =>
    around.filter((one) => one.kind === kind && one.body["target"] === sha && !one.held);
  const refused = (mend: LocalEntry) =>
    doubts.problems[`not_allowed:${mend.sha}`]?.accepted === "" || doubts.problems[`bad_correction:${mend.sha}`] !== undefined;
  const lives = (sha: string, seen: readonly string[] = []): boolean =>
    !seen.includes(sha) && !on(sha, "record_voided").some((mend) => !refused(mend) && lives(mend.sha, [...seen, sha]));

  const corrections = (sha: string, seen: readonly string[]): LocalEntry[] =>
    on(sha, "record_corrected").flatMap((one) =>
      seen.includes(one.sha) ? [] : [one, ...corrections(one.sha, [...seen, one.sha])],
    );
  const living = corrections(entry.sha, [entry.sha]).filter((one) => lives(one.sha) && !refused(one));
  const corrected = living.sort(newestFirst)[0] ?? null;
  const undoneBy =
    on(entry.sha, "record_voided").filter((mend) => !refused(mend) && lives(mend.sha, [entry.sha])).sort(newestFirst)[0] ?? null;
  const told = corrected?.body ?? {};
  return {
    undone: undoneBy !== null,
    undoneBy,
    corrected,
    body: corrected ? (told["body"] as Record<string, unknown>) : entry.body,
    occurred_on: typeof told["occurred_on"] === "string" ? told["occurred_on"] : entry.occurred_on,
    v: typeof told["as_v"] === "number" ? told["as_v"] : entry.v,
  };
}

function newestFirst(a: LocalEntry, b: LocalEntry): number {
  return (b.seq ?? Infinity) - (a.seq ?? Infinity) || b.recorded_at - a.recorded_at || (a.sha < b.sha ? 1 : -1);
}
