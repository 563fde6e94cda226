/**
 * What a phone with a large farm does, measured: `node --expose-gc phone-bench.js [entries] [--as-objects]`
 * prints one line of JSON. Times are of this process's processor; heaps are after a collection.
 */
import { Library, sizeOf } from "../src/core/shelf/library.ts";
import { entryFrom } from "../src/core/stock/entries.ts";
import { Fold } from "../src/core/stock/fold.ts";
import type { FeedRow } from "../src/store/rows.ts";
import { planFor, tenWinters } from "./ten-winters.ts";

const PAGE = 1_000;
const TAIL = 20;

function measured<T>(act: () => T): { answer: T; s: number } {
  const before = process.cpuUsage();
  const answer = act();
  const { user, system } = process.cpuUsage(before);
  return { answer, s: (user + system) / 1e6 };
}

function megabytes(): { heap: number; outside: number } {
  globalThis.gc?.();
  const { heapUsed, arrayBuffers } = process.memoryUsage();
  return { heap: heapUsed / 2 ** 20, outside: arrayBuffers / 2 ** 20 };
}

/** Takes the entries in as they come from the feed, packing what was taken in where `packing`. */
function foldAll(feed: Iterable<FeedRow>, packing: boolean): { fold: Fold; s: number; firstHalf: number; count: number } {
  const fold = new Fold();
  const times: number[] = [];
  let page: FeedRow[] = [];
  let count = 0;
  const take = (): void => {
    const { s } = measured(() => {
      fold.apply(page.map((row) => entryFrom(row.raw, row)));
      if (packing && fold.isFull) fold.seal();
    });
    times.push(s);
    count += page.length;
    page = [];
  };
  for (const row of feed) if (page.push(row) === PAGE) take();
  take();
  if (packing) times.push(measured(() => fold.seal()).s);
  const sum = (some: number[]): number => some.reduce((total, one) => total + one, 0);
  return { fold, s: sum(times), firstHalf: sum(times.slice(0, Math.floor(times.length / 2))), count };
}

function* allBut(feed: Iterable<FeedRow>, last: FeedRow[]): Generator<FeedRow> {
  for (const row of feed) {
    last.push(row);
    if (last.length > TAIL) yield last.shift() as FeedRow;
  }
}

const plan = planFor(Number(process.argv[2] ?? 200_000));
if (process.argv.includes("--as-objects")) {
  const before = megabytes();
  const { fold, s, count } = foldAll(tenWinters(plan), false);
  const heap = megabytes().heap - before.heap;
  process.stdout.write(`${JSON.stringify({ entries: count, fold_s: s, heap_mb: heap, lots: Object.keys(fold.state().lots).length })}\n`);
} else {
  const tail: FeedRow[] = [];
  const { fold: first, s, firstHalf, count } = foldAll(allBut(tenWinters(plan), tail), true);
  const kept = structuredClone(first.library.segments);
  const before = megabytes();
  const { answer: fold, s: start } = measured(() => new Fold(new Library(structuredClone(kept))));
  const after = megabytes();
  const more = tail.map((row) => measured(() => fold.apply([entryFrom(row.raw, row)])).s * 1000);
  const warm = more.slice(1);
  process.stdout.write(`${JSON.stringify({
    entries: count,
    fold_s: s,
    second_half_to_first: (s - firstHalf) / firstHalf,
    start_s: start,
    first_entry_more_ms: more[0],
    entry_more_ms: warm.reduce((sum, one) => sum + one, 0) / warm.length,
    heap_mb: after.heap - before.heap,
    packed_mb: kept.reduce((sum, one) => sum + sizeOf(one), 0) / 2 ** 20,
    segments: kept.length,
    lots_listed: Object.keys(fold.state().lots).length,
  })}\n`);
}
