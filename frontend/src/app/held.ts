/** What was decided on entries that were set aside. Pure. */

interface Deciding {
  kind: string;
  body: Record<string, unknown>;
  sha: string;
  held?: string | null;
}

/**
 * "leave" when the last decision on it was to leave it aside, "struck" when it was struck out.
 * `entries` are those that name it, and those that name these, oldest first.
 */
export function decisionOn(sha: string, entries: readonly Deciding[]): "" | "leave" | "struck" {
  const on = (target: string, kind: string): Deciding[] =>
    entries.filter((one) => one.kind === kind && one.body["target"] === target && !one.held);
  const lives = (one: Deciding): boolean => !on(one.sha, "record_voided").some(lives);
  if (on(sha, "record_voided").some(lives)) return "struck";
  const last = on(sha, "held_resolved").filter(lives).at(-1);
  return last?.body["decision"] === "leave" ? "leave" : "";
}

/** How many entries set aside nobody has decided on. `around` answers the entries that name one. */
export function openHeld(held: Record<string, string>, around: (sha: string) => readonly Deciding[]): number {
  return Object.keys(held).filter((sha) => decisionOn(sha, around(sha)) === "").length;
}
