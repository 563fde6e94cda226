/** Why an entry was set aside, in words, and what can be done about it. */
import type { StockState } from "../../core/stock/state.ts";
import { countOf } from "../../app/words/index.svelte.ts";

export interface Aside {
  kind: string;
  v: number;
  role: string;
}

const WHY: Record<string, (entry: Aside, who: string) => string> = {
  unreadable: () => "It cannot be read: it was torn or damaged before it arrived.",
  bad_envelope: () => "It is not a whole entry: something that every entry carries is missing.",
  wrong_farm: () => "It was written for another farm.",
  unknown_kind: (entry) => `It is of a sort this farm does not know (${entry.kind.replaceAll("_", " ")}). A newer version may know it.`,
  newer_version: (entry) => `It was written by a newer app (${entry.kind.replaceAll("_", " ")}, version ${entry.v}). Update, and it can be read.`,
  bad_body: () => "Something in it is missing or cannot be, so it does not count.",
  not_permitted: (entry, who) =>
    entry.role === "viewer" || !entry.role
      ? `${who} may look and not write.`
      : `A ${entry.role} does not write this sort of entry. An owner can let it count.`,
  too_large: () => "It is longer than an entry may be (64 KiB).",
  quarantined: () => "It came from a phone that had been taken off the list.",
};

/** One or two plain sentences for every reason, known or not. */
export function whySetAside(code: string, entry: Aside, who: string): string {
  return WHY[code]?.(entry, who) ?? `The farm’s computer set it aside (${code.replaceAll("_", " ")}).`;
}

const AS_IT_IS = new Set(["not_permitted", "quarantined"]);
const READABLE = new Set(["not_permitted", "quarantined", "bad_body", "unknown_kind", "newer_version"]);

/** Whether an owner can let it count just as it stands. */
export const canAccept = (code: string): boolean => AS_IT_IS.has(code);
/** Whether there is something to mend. */
export const canMend = (code: string): boolean => READABLE.has(code);
/** Counts by itself once the farm's computer, or this app, knows more. */
export const waitsForNewer = (code: string): boolean => code === "unknown_kind" || code === "newer_version";

const LABELS: Record<string, string> = {
  unreadable: "Cannot be read",
  bad_envelope: "Not whole",
  wrong_farm: "Written for another farm",
  unknown_kind: "Of a sort not known here",
  newer_version: "Written by a newer app",
  bad_body: "Something in it is missing or cannot be",
  not_permitted: "Not permitted",
  too_large: "Too long",
  quarantined: "Came back after it was signed out:",
};

/** The reason as a heading. */
export function reasonLabel(code: string): string {
  return LABELS[code] ?? code.replaceAll("_", " ").replace(/^./, (first) => first.toUpperCase());
}

/** "1 entry", "31 entries" */
export function entriesSay(count: number): string {
  return count === 1 ? "1 entry" : `${count} entries`;
}

const STUCK: Record<string, string> = {
  "413": "It is longer than the farm’s computer takes.",
  unreadable: "Its text is damaged on this phone.",
};

/** Why the farm's computer did not take an entry of this phone. */
export function whyStuck(code: string): string {
  if (STUCK[code]) return STUCK[code];
  return /^5\d\d$/.test(code) ? `The farm’s computer failed on it (${code}).` : code ? `The farm’s computer said: ${code.replaceAll("_", " ")}.` : "The farm’s computer did not say why.";
}

/** "12 batches change, 34 tubers fewer in all": what letting several entries count does. Units apart. */
export function changesSay(changes: readonly { lot: string; before: number; after: number }[], stock: Pick<StockState, "lots">): string {
  const counted = changes.filter((one) => one.before !== one.after);
  if (changes.length === 0) return "No count changes.";
  const byUnit = new Map<string, number>();
  for (const { lot, before, after } of counted) {
    const unit = stock.lots[lot]?.unit ?? "tuber";
    byUnit.set(unit, (byUnit.get(unit) ?? 0) + after - before);
  }
  const sums = [...byUnit].map(([unit, sum]) => (sum === 0 ? `as many ${countOf(2, unit).replace(/^2 /, "")} in all` : `${countOf(Math.abs(sum), unit)} ${sum > 0 ? "more" : "fewer"} in all`));
  const batches = changes.length === 1 ? "1 batch changes" : `${changes.length} batches change`;
  return `${[batches, ...sums].join(", ")}.`;
}
