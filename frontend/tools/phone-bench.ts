/**
 * What a phone with a large farm does, measured: `node phone-bench.js [entries]` prints one line
 * of JSON. Times are of this process's processor; heaps are after a collection (`--expose-gc`).
 */
import { Fold } from "../src/core/stock/fold.ts";
import { entryFrom } from "../src/core/stock/entries.ts";
import { Library, sizeOf } from "../src/core/shelf/library.ts";
import type { FeedRow } from "../src/store/rows.ts";
import { planFor, tenWinters } from "./ten-winters.ts";

const wanted = Number(process.argv[2] ?? 200_000);
const PAGE = 1_000;

function seconds<T>(act: () => T): [T, number] {
  const before = process.cpuUsage();
  const answer = act();
  const { user, system } = process.cpuUsage(before);
  return [answer, (user + system) / 1e6];
}

function megabytes(): { heap: number; outside: number } {
  globalThis.gc?.();
  const { heapUsed, arrayBuffers } = process.memoryUsage();
  return { heap: heapUsed / 2 ** 20, outside: arrayBuffers / 2 ** 20 };
}

const rows: FeedRow[] = [...tenWinters(planFor(wanted))];
const texts = megabytes();

function foldAll(upTo: number, sealing: boolean): Fold {
  const fold = new Fold();
  for (let at = 0; at < upTo; at += PAGE) {
    fold.apply(rows.slice(at, Math.min(upTo, at + PAGE)).map((row) => entryFrom(row.raw, row)));
    if (sealing && fold.isFull) fold.seal();
  }
  if (sealing) fold.seal();
  return fold;
}

const last = rows.length - 20;
let highest = 0;
const watch = (): void => {
  highest = Math.max(highest, megabytes().heap - texts.heap);
};
const [whole, wholeS] = seconds(() => foldAll(last, true));
watch();
const kept = structuredClone(whole.library.segments);
const bytes = kept.reduce((sum, one) => sum + sizeOf(one), 0);

const half = seconds(() => foldAll(Math.floor(last / 2), true))[1];

const plainHeap = process.argv.includes("--plain") ? (() => {
  const before = megabytes().heap;
  const [plain, s] = seconds(() => foldAll(last, false));
  const after = megabytes().heap;
  return { heap_mb: after - before, s, lots: Object.keys(plain.state().lots).length };
})() : null;

const before = megabytes();
const [fold, startS] = seconds(() => new Fold(new Library(structuredClone(kept))));
const after = megabytes();
const oneMore: number[] = [];
for (const row of rows.slice(last)) {
  oneMore.push(seconds(() => fold.apply([entryFrom(row.raw, row)]))[1]);
}
const [, sealS] = seconds(() => fold.seal());
process.stdout.write(`${JSON.stringify({
  entries: last,
  fold_from_nothing_s: wholeS,
  half_of_it_s: half,
  start_s: startS,
  start_of_fold: startS / wholeS,
  one_more_first_ms: (oneMore[0] ?? 0) * 1000,
  one_more_ms: (oneMore.slice(1).reduce((sum, one) => sum + one, 0) / Math.max(1, oneMore.length - 1)) * 1000,
  pack_small_ms: sealS * 1000,
  heap_after_start_mb: after.heap - before.heap,
  outside_heap_mb: after.outside - before.outside,
  packed_mb: bytes / 2 ** 20,
  segments: kept.length,
  lots_in_use: Object.keys(fold.state().lots).length,
  highest_mb: highest,
  plain: plainHeap,
})}\n`);
