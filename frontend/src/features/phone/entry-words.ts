/** One line for an entry in a list: what was done. */
import type { LocalEntry } from "../../sync/session.ts";
import type { StockState } from "../../core/stock/state.ts";
import { crateName, placeName, varietyName } from "../../app/names.ts";

const VERBS: Record<string, string> = {
  field_set: "Changed a field",
  same_as: "Put two rows together",
  labelled: "Put a label on",
  printed: "Printed labels",
  identified: "Named the variety",
  dug: "Dug",
  divided: "Divided",
  graded: "Judged again",
  split: "Split",
  curing_started: "Began drying off",
  curing_ended: "Ended drying off",
  packed: "Packed",
  round_started: "Started a round",
  round_ended: "Ended a round",
  measured: "Measured",
  checked: "Checked",
  moved: "Moved",
  counted: "Counted",
  found: "Found",
  emptied: "Emptied",
  gone_out: "Went out",
  returned: "Came back",
  bought: "Bought",
  promised: "Promised",
  woken: "Woke up",
  planted: "Planted",
  record_corrected: "Corrected an entry",
  record_voided: "Undid an entry",
  problem_accepted: "Left as it is",
};

export function entryWords(state: StockState, entry: LocalEntry): string {
  const verb = VERBS[entry.kind] ?? entry.kind.replaceAll("_", " ");
  const body = entry.body;
  const text = (name: string): string => (typeof body[name] === "string" ? (body[name] as string) : "");
  if (text("crate")) return `${verb}: ${crateName(state, text("crate"))}`;
  if (text("lot")) return `${verb}: ${varietyName(state, state.lots[text("lot")]?.variety ?? "")}`;
  if (text("place")) return `${verb}: ${placeName(state, text("place"))}`;
  if (entry.kind === "field_set") return `${verb}: ${text("field").replaceAll("_", " ")}`;
  return verb;
}
