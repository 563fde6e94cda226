/** A check written down wrong, and how it should read. Pure. */
import { CountReader, countIn, given, linesIn, refused, sumOf, tallyIn, textIn, without0, type Desk, type Plan } from "../../app/form/plan.ts";
import { NO_FIELDS, type Fields } from "../../app/form/fields.ts";
import { entrySays } from "../../app/entry-words.ts";

export interface CheckLineFields {
  lot: string;
  expected: string;
  seen: string;
  all: boolean;
  removed: Record<string, number>;
  noted: Record<string, number>;
}

export interface CheckFields extends Fields {
  look: string;
  lines: CheckLineFields[];
  unassigned: Record<string, number>;
  /** The rest of the body, handed on as it was. */
  rest: Record<string, unknown>;
}

export const noCheck = (): CheckFields => ({ ...NO_FIELDS, look: "top", lines: [], unassigned: {}, rest: {} });

export function readCheck(body: Record<string, unknown>): Partial<CheckFields> {
  const { look: _look, lines: _lines, unassigned: _unassigned, note: _note, ...rest } = body;
  return {
    look: textIn(body, "look") || "top",
    lines: linesIn(body, "lines").map((line) => ({
      lot: textIn(line, "lot"),
      expected: countIn(line, "expected"),
      seen: countIn(line, "seen"),
      all: line["all"] === true,
      removed: tallyIn(line, "removed"),
      noted: tallyIn(line, "noted"),
    })),
    unassigned: tallyIn(body, "unassigned"),
    rest,
  };
}

export function planCheck(fields: CheckFields, desk: Desk): Plan {
  const reader = new CountReader();
  const lines = fields.lines.map((line, i) => {
    const seen = reader.read(`seen-${i}`, line.seen, -1);
    const removed = without0(line.removed);
    const noted = without0(line.noted);
    if (seen >= 0 && sumOf(removed) > seen) {
      reader.errors[`seen-${i}`] = `${sumOf(removed)} were thrown out of ${seen} seen. Put one of the two right.`;
    }
    return {
      lot: line.lot,
      ...(line.expected ? { expected: Number(line.expected) } : {}),
      ...(seen >= 0 ? { seen } : {}),
      ...(fields.look === "all" && seen >= 0 ? { all: true } : {}),
      ...(sumOf(removed) > 0 ? { removed } : {}),
      ...(sumOf(noted) > 0 ? { noted } : {}),
    };
  });
  if (reader.failed) return refused(reader.errors);
  const unassigned = without0(fields.unassigned);
  const body = {
    ...fields.rest,
    look: fields.look,
    lines,
    ...(sumOf(unassigned) > 0 ? { unassigned } : {}),
    ...given("note", fields.note.trim()),
  };
  const said = entrySays({ kind: "checked", body }, desk.state);
  return {
    errors: {},
    warnings: [],
    drafts: [{ kind: "checked", body }],
    said: said.charAt(0).toLowerCase() + said.slice(1),
    undone: "the check reads as before.",
  };
}
