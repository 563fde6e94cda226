/** A form for any entry, made from the format of its kind: every field it may have, with what it says now. Pure. */
import type { Schema } from "@cfworker/json-schema";
import { schemaOf } from "../../core/sync/schemas.ts";
import { fieldWords } from "../../core/sync/wording.ts";

export type Path = readonly (string | number)[];
export type Body = Record<string, unknown>;

export interface Part {
  path: Path;
  label: string;
  sort: "count" | "decimal" | "yes" | "pick" | "text" | "long" | "day" | "thing" | "tally" | "list";
  value: unknown;
  required: boolean;
  choices: readonly string[];
  /** Of a thing: which list it is chosen from; "" where it can only be left or taken out. */
  of: "" | "lot" | "crate" | "varieties" | "places" | "methods" | "planting";
  /** Steps in from the left: a line of a list stands one in. */
  depth: number;
}

const LISTS: Record<string, Part["of"]> = {
  lot: "lot",
  of: "lot",
  crate: "crate",
  container: "crate",
  variety: "varieties",
  place: "places",
  method: "methods",
  planting: "planting",
  from_planting: "planting",
};

/** Every field of the kind in the order of its format; [] for a kind this app does not know. */
export function partsOf(kind: string, v: number, body: Body): Part[] {
  const schema = schemaOf(kind, v);
  return schema ? within(kind, schema, body, [], 0) : [];
}

function within(kind: string, schema: Schema, value: unknown, path: Path, depth: number): Part[] {
  const fields = (schema.properties ?? {}) as Record<string, Schema>;
  const required = schema.required ?? [];
  const map = isMap(value) ? value : {};
  return Object.entries(fields).flatMap(([name, node]) =>
    partsFor(kind, node, map[name], [...path, name], required.includes(name), depth),
  );
}

function partsFor(kind: string, node: Schema, value: unknown, path: Path, required: boolean, depth: number): Part[] {
  const part: Part = { path, label: labelOf(kind, path), sort: sortOf(node, path), value, required, choices: [], of: "", depth };
  if (part.sort === "pick") part.choices = (node.enum ?? []).map(String);
  if (part.sort === "thing") part.of = LISTS[lastName(path)] ?? "";
  if (part.sort !== "list") {
    // An object of named fields is nothing to fill in by itself; its fields are.
    const inner = node.type === "object" && node.properties !== undefined;
    return inner ? within(kind, node, value, path, depth + 1) : [part];
  }
  const items = (node.items ?? {}) as Schema;
  const lines = Array.isArray(value) ? (value as unknown[]) : [];
  const inside = lines.flatMap((line, i) =>
    items.type === "object" && items.properties !== undefined
      ? within(kind, items, line, [...path, i], depth + 1)
      : partsFor(kind, items, line, [...path, i], true, depth + 1),
  );
  return [part, ...inside];
}

function sortOf(node: Schema, path: Path): Part["sort"] {
  if (node.enum !== undefined) return "pick";
  if (node.type === "integer") return "count";
  if (node.type === "number") return "decimal";
  if (node.type === "boolean") return "yes";
  if (node.type === "array") return "list";
  if (node.type === "object") return node.properties === undefined ? "tally" : "text";
  const patterns = [node.pattern, ...(node.anyOf ?? []).map((one) => one.pattern)].filter((one) => one !== undefined);
  if (patterns.some((one) => one.includes("{12}"))) return "thing";
  if (patterns.some((one) => one.includes("[0-9]{4}-"))) return "day";
  return lastName(path) === "note" ? "long" : "text";
}

function lastName(path: Path): string {
  const name = [...path].reverse().find((step) => typeof step === "string");
  return name === undefined ? "" : String(name);
}

function labelOf(kind: string, path: Path): string {
  const words = fieldWords(kind, path.map(String));
  const line = path.findLast((step) => typeof step === "number");
  return line === undefined ? words : `${words}, line ${line + 1}`;
}

function isMap(value: unknown): value is Body {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

/** The body with another value in one place; `undefined` takes the field or line out. */
export function withValue(body: Body, path: Path, value: unknown): Body {
  return put(body, path, value) as Body;
}

function put(old: unknown, path: Path, value: unknown): unknown {
  const [step, ...rest] = path;
  if (step === undefined) return value;
  if (typeof step === "number") {
    const list = Array.isArray(old) ? [...(old as unknown[])] : [];
    const next = rest.length === 0 ? value : put(list[step], rest, value);
    if (next === undefined) list.splice(step, 1);
    else list[step] = next;
    return list;
  }
  const map: Body = isMap(old) ? { ...old } : {};
  const next = rest.length === 0 ? value : put(map[step], rest, value);
  if (next === undefined) delete map[step];
  else map[step] = next;
  return map;
}

/** An empty line for the list at this path. */
export function emptyLine(kind: string, v: number, path: Path): unknown {
  let node: Schema | undefined = schemaOf(kind, v);
  for (const step of path) {
    node = typeof step === "number" ? (node?.items as Schema | undefined) : (node?.properties as Record<string, Schema> | undefined)?.[step];
  }
  const items = node?.items as Schema | undefined;
  return items?.type === "object" ? {} : "";
}

/** What was typed for a figure: the number, nothing, or the text as it stands, which the format then refuses in words. */
export function figureOf(text: string, read: (text: string) => number | null): number | string | undefined {
  const typed = text.trim();
  return typed === "" ? undefined : (read(typed) ?? typed);
}

/** The sentence for this field among what the format refuses; the path is joined by "/". */
export function wrongAt(wrong: readonly { path: string; sentence: string }[], path: Path): string | undefined {
  return wrong.find((one) => one.path === path.join("/"))?.sentence;
}
