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

function known(schema: Node, value: unknown): unknown {
  const { properties, items } = schema;
  if (Array.isArray(value)) return items === undefined ? value : value.map((part) => known(items, part));
  if (typeof value !== "object" || value === null || properties === undefined) return value;
  const kept: Record<string, unknown> = {};
  for (const [name, part] of Object.entries(value)) {
    const node = Object.hasOwn(properties, name) ? properties[name] : undefined;
    if (node !== undefined) kept[name] = known(node, part);
  }
  return kept;
}
