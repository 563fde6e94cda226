/** The body with only the fields that its version knows; the record itself keeps the others. */
import { schemaOf } from "../sync/schemas.ts";
import type { Body } from "./entries.ts";

interface Node {
  properties?: Record<string, Node>;
  items?: Node;
}

export function knownFields(kind: string, v: number, body: Body): Body {
  return known((schemaOf(kind, v) ?? {}) as Node, body) as Body;
}

/** The value itself when it has no other fields: most entries are of today's form. */
function known(schema: Node, value: unknown): unknown {
  const { properties, items } = schema;
  if (Array.isArray(value)) return items === undefined ? value : knownParts(items, value);
  if (typeof value !== "object" || value === null || properties === undefined) return value;
  const kept: Record<string, unknown> = {};
  let same = true;
  for (const [name, part] of Object.entries(value)) {
    const node = Object.hasOwn(properties, name) ? properties[name] : undefined;
    const now = node === undefined ? undefined : known(node, part);
    if (now !== part) same = false;
    if (node !== undefined) kept[name] = now;
  }
  return same ? value : kept;
}

function knownParts(items: Node, values: unknown[]): unknown[] {
  const kept = values.map((part) => known(items, part));
  return kept.every((part, i) => part === values[i]) ? values : kept;
}
