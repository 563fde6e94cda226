/** A crate goes to a place, or a whole batch into another crate. Pure. */
import { given, refused, textIn, type Desk, type Plan } from "../../app/form/plan.ts";
import { NO_FIELDS, type Fields } from "../../app/form/fields.ts";
import { lotName } from "../../app/lot-words.ts";
import { crateName, placeName, standsAt } from "../../app/names.ts";
import type { Draft } from "../../sync/session.ts";

export interface MoveFields extends Fields {
  what: "crate" | "lot";
  crates: string[];
  place: string;
  position: string;
  lot: string;
  container: string;
}

export const noMove = (): MoveFields => ({ ...NO_FIELDS, what: "crate", crates: [], place: "", position: "", lot: "", container: "" });

export function planMove(fields: MoveFields, desk: Desk): Plan {
  return fields.what === "crate" ? planCrates(fields, desk) : planLot(fields, desk);
}

function planCrates(fields: MoveFields, desk: Desk): Plan {
  const { state } = desk;
  const errors: Record<string, string> = {};
  if (fields.crates.length === 0) errors["crates"] = "Choose the crate that was moved.";
  const position = fields.position.trim();
  if (!fields.place && !position) errors["place"] = "Choose where it stands now, or type its place in the stack.";
  if (Object.keys(errors).length > 0) return refused(errors);
  const names = fields.crates.map((id) => crateName(state, id)).join(", ");
  const to = [placeName(state, fields.place), position].filter(Boolean).join(", ");
  const before = fields.crates.map((id) => standsAt(state, id) || "no place").join("; ");
  return {
    errors,
    warnings: [],
    drafts: fields.crates.map(
      (crate): Draft => ({
        kind: "moved",
        body: { crate, ...given("place", fields.place), ...given("position", position), ...given("note", fields.note.trim()) },
      }),
    ),
    said: `${names} now at ${to}`,
    undone: `${names} back at ${before}.`,
  };
}

function planLot(fields: MoveFields, desk: Desk): Plan {
  const { state } = desk;
  const errors: Record<string, string> = {};
  const lot = state.lots[fields.lot];
  if (!lot) errors["lot"] = "Choose the batch that was moved.";
  if (!fields.container) errors["container"] = "Choose the crate it went into.";
  else if (lot && lot.container === fields.container) errors["container"] = "It lies in that crate already. Choose another.";
  if (Object.keys(errors).length > 0) return refused(errors);
  const name = lotName(state, fields.lot);
  return {
    errors,
    warnings: [],
    drafts: [{ kind: "moved", body: { lot: fields.lot, container: fields.container, ...given("note", fields.note.trim()) } }],
    said: `${name} into ${crateName(state, fields.container).replace(/^Crate/, "crate")}`,
    undone: `${name} is where it was.`,
  };
}

export function readMove(body: Record<string, unknown>): Partial<MoveFields> {
  const lot = textIn(body, "lot");
  const crate = textIn(body, "crate");
  return {
    what: lot ? "lot" : "crate",
    crates: crate ? [crate] : [],
    place: textIn(body, "place"),
    position: textIn(body, "position"),
    lot,
    container: textIn(body, "container"),
  };
}
