/** A record of every kind and version that an app has ever sent has here the effect it had when it was new. */
import { readdirSync, readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { canonical } from "../core/stock/canonical.ts";
import { entryFrom } from "../core/stock/entries.ts";
import { Fold } from "../core/stock/fold.ts";
import { KINDS } from "../core/stock/kinds.ts";
import { newestVersion } from "../core/sync/schemas.ts";
import { CHAIN_START } from "../core/sync/chain.ts";
import type { FeedRow } from "../store/rows.ts";
import { checkPage } from "./page.ts";

type Pages = Record<string, unknown>;
interface Golden {
  kind: string;
  v: number;
  records: { what: string; row: { raw: string }; changes: Record<string, Pages> }[];
}

// Written once by the server's side and never again; see tests/corpus/writing.py.
const folder = new URL("../../../tests/corpus/records/", import.meta.url);
const read = (name: string): unknown => JSON.parse(readFileSync(new URL(name, folder), "utf-8"));
const files = readdirSync(folder).filter((name) => name !== "before.json").sort();
const golden = files.map((name) => read(name) as Golden);
const before = checkPage({ seq: 0, chain: CHAIN_START }, (read("before.json") as { rows: unknown[] }).rows);
const end = before.at(-1);

function stateAfter(rows: readonly FeedRow[]): Record<string, Pages> {
  const fold = new Fold();
  fold.apply(rows.map((row) => entryFrom(row.raw, row)));
  return JSON.parse(canonical(fold.state())) as Record<string, Pages>;
}

/** What reads differently, by table of the state and key; null for what is gone. */
function difference(old: Record<string, Pages>, now: Record<string, Pages>): Record<string, unknown> {
  const found: Record<string, unknown> = {};
  for (const [name, page] of Object.entries(now)) {
    const was = old[name] ?? {};
    if (typeof page !== "object") {
      if (page !== was) found[name] = page;
      continue;
    }
    const keys = [...new Set([...Object.keys(page), ...Object.keys(was)])].filter(
      (key) => JSON.stringify(page[key]) !== JSON.stringify(was[key]),
    );
    if (keys.length > 0) found[name] = Object.fromEntries(keys.map((key) => [key, page[key] ?? null]));
  }
  return found;
}

test("there is a file for every kind and version", () => {
  const wanted = KINDS.flatMap((kind) => Array.from({ length: newestVersion(kind) ?? 0 }, (_, i) => `${kind}.v${i + 1}.json`));
  expect(files).toEqual(wanted.sort());
});

const stateBefore = stateAfter(before);

test.each(golden.map((one) => [`${one.kind}.v${one.v}`, one] as const))("%s counts as it did then", (_, { records }) => {
  if (!end) throw new Error("the farm before is empty");
  for (const { what, row, changes } of records) {
    const page = checkPage({ seq: end.seq, chain: end.chain }, [row]);
    expect(difference(stateBefore, stateAfter([...before, ...page])), what).toEqual(changes);
  }
});
