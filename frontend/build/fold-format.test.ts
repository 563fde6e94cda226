import { mkdtempSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test } from "vitest";
import { foldFormat } from "./fold-format.ts";

test("another line of the fold is another format, another test is not", () => {
  const folder = mkdtempSync(join(tmpdir(), "fold-"));
  writeFileSync(join(folder, "fold.ts"), "one");
  const first = foldFormat([folder]);
  expect(first).toMatch(/^[0-9a-f]{16}$/);
  writeFileSync(join(folder, "fold.test.ts"), "a test");
  expect(foldFormat([folder])).toBe(first);
  writeFileSync(join(folder, "fold.ts"), "two");
  expect(foldFormat([folder])).not.toBe(first);
});
