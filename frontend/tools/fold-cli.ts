/**
 * Folds histories as a phone does, for the comparison with the server's fold.
 *
 * Reads JSON lines `{"fresh": bool, "entries": [rows of a pull]}`: `fresh` begins a new
 * history. The rows are checked like a page of the feed, chain and all, when they
 * continue the history; with `"check": false` they are taken in any order. Answers each
 * line with the state in its canonical form.
 */
import { createInterface } from "node:readline";
import { canonical } from "../src/core/stock/canonical.ts";
import { entryFrom } from "../src/core/stock/entries.ts";
import { Fold } from "../src/core/stock/fold.ts";
import { CHAIN_START } from "../src/core/sync/chain.ts";
import { keyOf } from "../src/core/sync/hash.ts";
import { waysOut, type Choice } from "../src/core/stock/ways-out.ts";
import type { FeedRow } from "../src/store/rows.ts";
import { checkPage } from "../src/sync/page.ts";

interface Page {
  fresh?: boolean;
  check?: boolean;
  entries?: (FeedRow & { raw: string })[];
  /** Asks for the drafts of a way out instead of the state. */
  way_out?: { key: string; out: string; choice: Choice };
}

let fold = new Fold();
let cursor = { seq: 0, chain: CHAIN_START };

function take({ fresh = false, check = true, entries = [] }: Page): void {
  if (fresh) {
    fold = new Fold();
    cursor = { seq: 0, chain: CHAIN_START };
  }
  const rows = check ? checkPage(cursor, entries) : entries.map(unchecked);
  const last = rows.at(-1);
  if (check && last) cursor = { seq: last.seq, chain: last.chain };
  fold.apply(rows.map((row) => entryFrom(row.raw, row)));
}

function unchecked(row: FeedRow & { raw: string }): FeedRow {
  return { ...row, sha: keyOf(row.raw), held: row.held ?? null, stamp_eff: row.stamp_eff ?? null };
}

for await (const line of createInterface({ input: process.stdin })) {
  const page = JSON.parse(line) as Page;
  if (page.entries !== undefined) take(page);
  const { way_out: way } = page;
  const answer = way ? waysOut(fold, way.key, way.out, way.choice) : fold.state();
  process.stdout.write(`${canonical(answer)}\n`);
}
