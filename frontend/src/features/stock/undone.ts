/** Which entries of a history were struck out by other entries of it. */
interface Mending {
  sha: string;
  kind: string;
  body: Record<string, unknown>;
}

/** Hashes of entries that an undo in the same history takes away; an undone undo takes nothing away. */
export function undoneBy(entries: readonly Mending[]): Set<string> {
  const voids = new Map<string, string[]>();
  for (const { sha, kind, body } of entries) {
    if (kind !== "record_voided" || typeof body["target"] !== "string") continue;
    voids.set(body["target"], [...(voids.get(body["target"]) ?? []), sha]);
  }
  // A hash cannot be named by what it covers, so this ends.
  const isUndone = (sha: string): boolean => (voids.get(sha) ?? []).some((by) => !isUndone(by));
  return new Set([...voids.keys()].filter(isUndone));
}
