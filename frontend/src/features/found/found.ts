/** Stock that nothing recorded before. Pure. */
import { CountReader, countIn, given, refused, textIn, type Desk, type Plan } from "../../app/form/plan.ts";
import { NO_FIELDS, type Fields } from "../../app/form/fields.ts";
import { crateName, varietyName } from "../../app/names.ts";
import { countOf } from "../../app/words/index.svelte.ts";

export interface FoundFields extends Fields {
  variety: string;
  unit: string;
  count: string;
  about: boolean;
  eyes: string;
  container: string;
  lot: string;
  grade: string;
  code: string;
}

export const UNITS = ["tuber", "clump", "pot_plant", "cutting"] as const;
export const noFound = (): FoundFields => ({
  ...NO_FIELDS,
  variety: "",
  unit: "tuber",
  count: "",
  about: false,
  eyes: "",
  container: "",
  lot: "",
  grade: "",
  code: "",
});

export function planFound(fields: FoundFields, desk: Desk): Plan {
  const reader = new CountReader();
  if (!fields.variety) reader.errors["variety"] = "Choose the variety. If there is no tag, choose “Variety not known”.";
  const count = reader.need("count", fields.count, "Type how many there are. About is fine: switch it on.");
  if (reader.failed) return refused(reader.errors);
  const what = `${fields.about ? "~" : ""}${countOf(count, fields.unit)} of ${varietyName(desk.state, fields.variety)}`;
  return {
    errors: {},
    warnings: [],
    drafts: [
      {
        kind: "found",
        body: {
          lot: fields.lot || desk.newId(),
          variety: fields.variety,
          unit: fields.unit,
          count,
          ...(fields.about ? { about: true } : {}),
          ...given("eyes", fields.eyes),
          ...given("grade", fields.grade),
          ...given("container", fields.container),
          ...given("code", fields.code),
          ...given("note", fields.note.trim()),
        },
      },
    ],
    said: `found ${what}${fields.container ? ` in ${crateName(desk.state, fields.container).replace(/^Crate/, "crate")}` : ""}`,
    undone: `${what} are not in the book.`,
  };
}

export function readFound(body: Record<string, unknown>): Partial<FoundFields> {
  return {
    variety: textIn(body, "variety"),
    unit: textIn(body, "unit") || "tuber",
    count: countIn(body, "count"),
    about: body["about"] === true,
    eyes: textIn(body, "eyes"),
    container: textIn(body, "container"),
    lot: textIn(body, "lot"),
    grade: textIn(body, "grade"),
    code: textIn(body, "code"),
  };
}
