/** Why an entry was set aside, in words, and what can be done about it. */

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
/** Whether there is something to rewrite. */
export const canRewrite = (code: string): boolean => READABLE.has(code);

/** The text as a body, or a sentence that says what is wrong with it. */
export function readBody(text: string): { body: object } | { sentence: string } {
  try {
    const value: unknown = JSON.parse(text);
    if (typeof value === "object" && value !== null && !Array.isArray(value)) return { body: value };
    return { sentence: "The entry must stand between { and }." };
  } catch (error) {
    const where = error instanceof Error ? / at position \d+| \(line \d+ column \d+\)/.exec(error.message)?.[0] : "";
    return { sentence: `This cannot be read${where ?? ""}. Look for a missing comma, quotation mark or bracket.` };
  }
}

interface Decided {
  kind: string;
  body: Record<string, unknown>;
  sha: string;
}

/** "leave" when the last decision on it was to leave it aside. */
export function decisionOn(sha: string, entries: readonly Decided[]): "" | "leave" {
  const taken = new Set(entries.flatMap((one) => (one.kind === "record_voided" ? [one.body["target"]] : [])));
  const last = entries.filter((one) => one.kind === "held_resolved" && one.body["target"] === sha && !taken.has(one.sha)).at(-1);
  return last?.body["decision"] === "leave" ? "leave" : "";
}
