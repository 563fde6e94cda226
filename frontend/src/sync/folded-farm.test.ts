import fc from "fast-check";
import { afterEach, beforeEach, expect, test } from "vitest";
import { canonical } from "../core/stock/canonical.ts";
import { entryFrom, type Entry } from "../core/stock/entries.ts";
import { Fold } from "../core/stock/fold.ts";
import { histories } from "../core/stock/testing/histories.ts";
import { CHAIN_START, nextLink } from "../core/sync/chain.ts";
import { seal } from "../core/sync/envelope.ts";
import { FarmStore } from "../store/farm-store.ts";
import type { FeedRow } from "../store/rows.ts";
import { FARM } from "../store/testing/entries.ts";
import { freshDisk, type Seams } from "../store/testing/fake.ts";
import { Killer } from "../store/testing/killer.ts";
import { FoldedFarm, type Reading } from "./folded-farm.ts";

const seeded = { seed: 20261128 };
const FARM_OF_HISTORIES = "00000000-0000-4000-8099-000000000000";

const killer = new Killer();
beforeEach(() => killer.install());
afterEach(() => killer.remove());

/** The history as the feed brings it, with the text of each entry. */
function feedOf(entries: readonly Entry[]): FeedRow[] {
  let chain = CHAIN_START;
  return entries.map((entry, i) => {
    const { id, device, device_seq, author, kind, v, occurred_on, recorded_at, body, stamp, held } = entry;
    const { raw, sha } = seal({
      id, farm: FARM_OF_HISTORIES, device, device_seq, author, kind, v, occurred_on, recorded_at, ...(stamp ? { stamp } : {}), body,
    });
    expect(sha).toBe(entry.sha256);
    const { received_at, received_on, recorded_on, role } = entry;
    const row = {
      sha, raw, device, device_seq, seq: i + 1, held: held === "" ? null : held, received_at, received_on, recorded_on,
      stamp_eff: stamp, role, relayed_by: null,
    };
    chain = nextLink(chain, row);
    return { ...row, chain };
  });
}

interface Window {
  store: FarmStore;
  farm: FoldedFarm;
  told: (Reading | null)[];
}

function opened(disk: Seams, format = "1"): Window {
  const store = new FarmStore(FARM, disk);
  const told: (Reading | null)[] = [];
  const progress = (reading: Reading | null): void => void told.push(reading);
  return { store, told, farm: new FoldedFarm({ store, format, progress, closed: () => false, keepAfter: 3, mostSegments: 3 }) };
}

async function page(store: FarmStore, feed: readonly FeedRow[], size: number): Promise<void> {
  const { seq, chain } = await store.cursor();
  await store.applyPage({ seq, chain }, feed.slice(seq, seq + size));
}

async function fromNothing(store: FarmStore): Promise<string> {
  const fold = new Fold();
  fold.apply((await store.all()).map((row) => entryFrom(row.raw, row)));
  return canonical(fold.state());
}

function folded({ farm }: Window): string {
  return canonical(farm.fold.whole());
}

const moments = fc.array(
  fc.record({ size: fc.integer({ min: 1, max: 6 }), then: fc.constantFrom("read", "restart", "other build", "history changed", "not read", "two windows") }),
  { minLength: 2, maxLength: 14 },
);

test("started again at any moment, by any build, after any change of history: what folding from nothing gives", async () => {
  const seen = new Map<string, number>();
  await fc.assert(
    fc.asyncProperty(histories, moments, async (entries, life) => {
      const feed = feedOf(entries);
      const disk = freshDisk();
      let format = 1;
      let here = opened(disk, "1");
      const windows = [here];
      for (const { size, then } of life) {
        await page(here.store, feed, size);
        seen.set(then, (seen.get(then) ?? 0) + 1);
        if (then === "not read") continue;
        if (then === "history changed") await here.store.startAnew();
        if (then === "restart" || then === "other build") {
          if (then === "other build") format += 1;
          here = opened(disk, String(format));
          windows.push(here);
        }
        await here.farm.catchUp();
        if (then === "two windows") for (const other of windows) await other.farm.catchUp();
        expect(folded(here)).toBe(await fromNothing(here.store));
      }
      await page(here.store, feed, feed.length);
      const last = opened(disk, String(format));
      for (const one of [...windows, last]) {
        await one.farm.catchUp();
        expect(folded(one)).toBe(await fromNothing(last.store));
      }
      for (const one of [...windows, last]) one.store.close();
    }),
    { ...seeded, numRuns: 30 },
  );
  for (const then of ["read", "restart", "other build", "history changed", "not read", "two windows"]) expect(seen.get(then) ?? 0).toBeGreaterThan(10);
});

const example = fc.sample(histories, { ...seeded, numRuns: 300 }).reduce((most, one) => (one.length > most.length ? one : most));

/** Pages and reads until the program ends; the fold is kept, and its segments merged, on the way. */
async function life(disk: Seams): Promise<void> {
  const feed = feedOf(example);
  const { store, farm } = opened(disk);
  for (let at = 0; at < feed.length; at += 4) {
    await page(store, feed, 4);
    await farm.catchUp();
  }
  store.close();
}

test("ended at each step of reading and keeping, the next start folds what the rows say", async () => {
  let kept = 0;
  for (let step = 1; ; step += 1) {
    const disk = freshDisk();
    killer.arm(step);
    const running = life(disk).catch((error: unknown) => {
      if (!killer.dead) throw error;
    });
    await Promise.race([running, killer.death]);
    const { dead } = killer;
    killer.disarm();
    const again = opened(disk);
    if ((await again.store.keptFold("1")) !== null) kept += 1;
    await again.farm.catchUp();
    expect(folded(again), `ended at step ${step}`).toBe(await fromNothing(again.store));
    again.store.close();
    if (!dead) break;
  }
  expect(kept).toBeGreaterThan(50);
});

test("what is kept saves reading: the next start reads only the rows since", async () => {
  const disk = freshDisk();
  const feed = feedOf(example);
  const first = opened(disk);
  await page(first.store, feed, feed.length);
  await first.farm.catchUp();
  first.store.close();
  const { kept } = (await opened(disk).store.keptFold("1")) ?? {};
  expect(kept).toMatchObject({ generation: 1, epoch: 0, touched: 1, format: "1" });
  const next = opened(disk);
  const rows: number[] = [];
  for await (const slice of next.store.since(kept?.touched ?? 0)) rows.push(slice.rows.length);
  expect(rows).toEqual([0]);
  await next.farm.catchUp();
  expect(folded(next)).toBe(await fromNothing(next.store));
  expect(next.told).toEqual([]);
});

test("of two windows that keep the fold, one goes on keeping it, and both stay right", async () => {
  const disk = freshDisk();
  const feed = feedOf(example);
  const [one, two] = [opened(disk), opened(disk)];
  for (let at = 0; at < feed.length; at += 4) {
    await page(one.store, feed, 4);
    await Promise.all([one.farm.catchUp(), two.farm.catchUp()]);
    expect(folded(one)).toBe(folded(two));
  }
  const { kept } = (await one.store.keptFold("1")) ?? {};
  expect(kept?.generation).toBeGreaterThan(1);
  const next = opened(disk);
  await next.farm.catchUp();
  expect(folded(next)).toBe(await fromNothing(next.store));
});

test("a fold with a part missing is made anew, and no row is lost", async () => {
  const disk = freshDisk();
  const feed = feedOf(example);
  const first = opened(disk);
  await page(first.store, feed, feed.length);
  await first.farm.catchUp();
  first.store.close();
  await new Promise<void>((resolve, reject) => {
    const request = disk.indexedDB.open(`winter-tally-${FARM}`);
    request.onerror = () => reject(new Error("not opened"));
    request.onsuccess = () => {
      const cleared = request.result.transaction("segments", "readwrite");
      cleared.objectStore("segments").clear();
      cleared.oncomplete = () => {
        request.result.close();
        resolve();
      };
    };
  });
  const next = opened(disk);
  expect(await next.store.keptFold("1")).toBeNull();
  await next.farm.catchUp();
  expect(folded(next)).toBe(await fromNothing(next.store));
  expect(await next.store.size()).toBe(feed.length);
});
