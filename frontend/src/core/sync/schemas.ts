/**
 * The body formats of every kind and version, from the same files the server
 * reads (tubertrack/core/stock/kinds).
 */
import type { Schema } from "@cfworker/json-schema";

const files = import.meta.glob<Schema>("../../../../tubertrack/core/stock/kinds/*.json", {
  eager: true,
  import: "default",
});

const schemas = new Map<string, Schema>();
const newest = new Map<string, number>();

for (const [path, schema] of Object.entries(files)) {
  const found = /([a-z_]+)\.v(\d+)\.json$/.exec(path);
  if (!found) continue;
  const [, kind = "", version = ""] = found;
  schemas.set(`${kind}.v${version}`, schema);
  newest.set(kind, Math.max(newest.get(kind) ?? 0, Number(version)));
}

export function schemaOf(kind: string, v: number): Schema | undefined {
  return schemas.get(`${kind}.v${v}`);
}

/** The version this app writes, or undefined for a kind it does not know. */
export function newestVersion(kind: string): number | undefined {
  return newest.get(kind);
}

export function knownKinds(): string[] {
  return [...newest.keys()].sort();
}
