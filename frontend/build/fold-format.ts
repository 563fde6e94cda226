import { createHash } from "node:crypto";
import { readdirSync, readFileSync, statSync } from "node:fs";
import { join } from "node:path";

/**
 * A name for the way of folding: another one as soon as a line of the fold, of what packs it or of
 * a record kind is another. Phones then fold anew instead of going on from what an older build kept.
 */
export function foldFormat(paths: readonly string[]): string {
  const hash = createHash("sha256");
  for (const file of paths.flatMap((path) => (statSync(path).isDirectory() ? filesIn(path) : [path])).sort()) hash.update(readFileSync(file)).update("\0");
  return hash.digest("hex").slice(0, 16);
}

function filesIn(folder: string): string[] {
  return readdirSync(folder).flatMap((name) => {
    const path = join(folder, name);
    if (statSync(path).isDirectory()) return name === "testing" ? [] : filesIn(path);
    return /\.(?:ts|json)$/.test(name) && !name.endsWith(".test.ts") ? [path] : [];
  });
}
