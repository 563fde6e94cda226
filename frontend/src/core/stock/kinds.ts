/** Every kind of record, in the order of the winter. */
export const KINDS = [
  "field_set", "same_as", "labelled", "printed", "identified",
  "planted", "emerged", "rogued", "kept_in_ground", "tended", "stems_cut", "marked", "flagged",
  "dug", "divided", "graded", "split", "curing_started", "curing_ended", "packed",
  "round_started", "round_ended", "measured", "logged", "checked", "moved", "counted", "found",
  "emptied", "gone_out", "returned", "bought", "promised",
  "woken", "struck", "rooted", "potted",
  "record_corrected", "record_voided", "problem_accepted", "held_resolved",
  "record_reclassified",
] as const;
export type Kind = (typeof KINDS)[number];

export const ROLES = ["viewer", "helper", "grower", "owner", "server"] as const;
export type Role = (typeof ROLES)[number];
