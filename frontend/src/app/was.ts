/** What a field of a name or setting said before somebody else set it. Pure. */
import type { FieldValue } from "../core/stock/state.ts";

export interface Written {
  sha: string;
  kind: string;
  body: Record<string, unknown>;
  author: string;
  occurred_on: string;
  recorded_at: number;
  held?: string | null;
}

export interface Before {
  value: FieldValue;
  author: string;
  on: string;
  /** ms UTC: when it was written. */
  at: number;
}

/**
 * The last value by another hand that differs from the one now. Undefined when only one person
 * ever set it. `entries` are those that name the row, and those that name these, oldest first.
 */
export function before(entries: readonly Written[], row: string, field: string, now: { by: string }): Before | undefined {
  const voids = entries.filter((one) => one.kind === "record_voided" && !one.held);
  const lives = (sha: string): boolean => !voids.some((one) => one.body["target"] === sha && lives(one.sha));
  const of = entries.filter(
    (one) => one.kind === "field_set" && one.body["row"] === row && one.body["field"] === field && !one.held && lives(one.sha),
  );
  const current = of.find((one) => one.sha === now.by);
  if (!current) return undefined;
  const earlier = of.filter((one) => one.sha !== now.by && one.author !== current.author && one.body["value"] !== current.body["value"]);
  const last = earlier.sort((a, b) => a.recorded_at - b.recorded_at).at(-1);
  return last && { value: last.body["value"] as FieldValue, author: last.author, on: last.occurred_on, at: last.recorded_at };
}
