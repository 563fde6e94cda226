/** Every kind of record, in rank order: the same list as order.json (a test compares them). */
export const KINDS = [
  "field_set", "same_as", "labelled", "printed", "identified", "planted", "emerged", "tended",
  "stems_cut", "marked", "flagged", "rogued", "kept_in_ground", "dug", "divided", "graded",
  "bought", "returned", "found", "curing_started", "curing_ended", "packed", "split", "moved",
  "round_started", "measured", "logged", "checked", "counted", "round_ended", "promised",
  "gone_out", "woken", "struck", "rooted", "potted", "emptied", "record_corrected",
  "record_voided", "problem_accepted", "held_resolved", "record_reclassified",
] as const;
export type Kind = (typeof KINDS)[number];

export const ROLES = ["viewer", "helper", "grower", "owner", "server"] as const;
export type Role = (typeof ROLES)[number];

const RANKS = new Map<string, number>(KINDS.map((kind, rank) => [kind, rank]));

/** Decides between entries of one date and one moment; undefined for a kind of a later app. */
export function rankOf(kind: string): number | undefined {
  return RANKS.get(kind);
}

/** Whether a role has at least the rights of `least`; an unknown role has none. */
export function isAtLeast(role: string, least: Role): boolean {
  const rank = (ROLES as readonly string[]).indexOf(role);
  return rank >= 0 && rank >= ROLES.indexOf(least);
}
