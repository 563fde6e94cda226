import Dexie from "dexie";
import { afterEach, expect, test } from "vitest";
import { CHAIN_START, nextLink } from "../core/sync/chain.ts";
import { FarmStore, farmDatabaseName } from "./farm-store.ts";
import { NotStored, StorageFull, StoreClosed } from "./failures.ts";
import type { FeedRow, RecordRow } from "./rows.ts";
import { entryMaker, FARM, OTHER_PHONE, PHONE, saveOne } from "./testing/entries.ts";
import { FDBDatabase, FDBObjectStore, freshDisk, type Seams } from "./testing/fake.ts";

const stores: FarmStore[] = [];

function open(seams: Seams, onGone?: () => void): FarmStore {
  const store = new FarmStore(FARM, seams, onGone);
  stores.push(store);
  return store;
}

afterEach(() => {
  for (const store of stores.splice(0)) store.close();
});

function fed(row: RecordRow, seq: number, prev: string, more: Partial<FeedRow> = {}): FeedRow {
  const { due: _due, touched: _touched, stuck: _stuck, ...kept } = row;
  const entry = { ...kept, seq, received_at: 1_800_000_000_000 + seq, ...more };
  return { ...entry, chain: nextLink(prev, entry) };
}

const START = { seq: 0, chain: CHAIN_START };

test("what was saved is there after the app is closed and opened", async () => {
  const disk = freshDisk();
  const first = open(disk);
  const saved = await first.save(PHONE, [entryMaker(), entryMaker(), entryMaker()]);
  first.close();
  const found = await open(disk).all();
  expect(found.map((row) => row.raw).sort()).toEqual(saved.map((row) => row.raw).sort());
});

test("each device counts its own entries 1, 2, 3, also from two windows at once", async () => {
  const disk = freshDisk();
  const [one, two] = [open(disk), open(disk)];
  await Promise.all([saveOne(one), saveOne(two), saveOne(one), saveOne(two), saveOne(one, { device: OTHER_PHONE })]);
  const rows = await one.all();
  const counts = (device: string): number[] =>
    rows.filter((row) => row.device === device).map((row) => row.device_seq).sort();
  expect(counts(PHONE)).toEqual([1, 2, 3, 4]);
  expect(counts(OTHER_PHONE)).toEqual([1]);
});

test("all or none: a maker that fails leaves nothing and no gap behind", async () => {
  const store = open(freshDisk());
  const failing = () => {
    throw new RangeError("too large");
  };
  await expect(store.save(PHONE, [entryMaker(), failing])).rejects.toThrow("too large");
  expect(await store.all()).toEqual([]);
  expect((await saveOne(store)).device_seq).toBe(1);
});

test("entries stand in line oldest first, by device and its own count", async () => {
  const store = open(freshDisk());
  await store.save(PHONE, Array.from({ length: 12 }, () => entryMaker()));
  const line = await store.due("saved", 11);
  expect(line.map((row) => row.device_seq)).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11]);
});

test("a page settles own entries, adds others and moves the cursor in one go", async () => {
  const store = open(freshDisk());
  const mine = await saveOne(store);
  const theirs = await saveOne(open(freshDisk()), { device: OTHER_PHONE });
  const one = fed(mine, 1, CHAIN_START, { held: "bad_body" });
  const two = fed(theirs, 2, one.chain);
  expect(await store.applyPage(START, [one, two])).toBe(true);
  expect(await store.cursor()).toEqual({ seq: 2, chain: two.chain });
  expect(await store.counts()).toEqual({ saved: 0, sent: 0, stuck: 0 });
  const rows = new Map((await store.all()).map((row) => [row.sha, row]));
  expect(rows.get(mine.sha)).toMatchObject({ seq: 1, held: "bad_body", raw: mine.raw });
  expect(rows.get(theirs.sha)?.seq).toBe(2);
});

test("a page for a cursor that another window has moved is not written", async () => {
  const store = open(freshDisk());
  const one = fed(await saveOne(store), 1, CHAIN_START);
  await store.applyPage(START, [one]);
  expect(await store.applyPage(START, [{ ...one, seq: 7 }])).toBe(false);
  expect((await store.cursor()).seq).toBe(1);
});

test("a page that cannot be written whole does not move the cursor", async () => {
  const store = open(freshDisk());
  const one = fed(await saveOne(store), 1, CHAIN_START);
  const broken = { ...one, sha: null as unknown as string };
  await expect(store.applyPage(START, [one, broken])).rejects.toThrow();
  expect(await store.cursor()).toEqual(START);
  expect((await store.counts()).saved).toBe(1);
});

test("the clock for edits follows what was seen in the feed", async () => {
  const store = open(freshDisk());
  const row = await saveOne(store, { kind: "field_set", at: 1000 });
  const ahead = fed(row, 1, CHAIN_START, { stamp_eff: [5000, 4] });
  await store.applyPage(START, [ahead]);
  const next = await saveOne(store, { kind: "field_set", at: 2000 });
  expect(next.stamp_eff).toEqual([5000, 5]);
});

test("starting anew makes all due again, whoever wrote it, and loses nothing", async () => {
  const store = open(freshDisk());
  const mine = await saveOne(store);
  const theirs = await saveOne(open(freshDisk()), { device: OTHER_PHONE });
  const one = fed(mine, 1, CHAIN_START);
  await store.applyPage(START, [one, fed(theirs, 2, one.chain)]);
  await store.startAnew();
  expect(await store.cursor()).toEqual(START);
  expect(await store.counts()).toEqual({ saved: 2, sent: 0, stuck: 0 });
  expect(await store.epoch()).toBe(1);
  expect((await store.all()).every((row) => row.seq === null)).toBe(true);
});

test("a stuck entry is tried again by a new build or after its day, not before", async () => {
  const store = open(freshDisk());
  const { sha } = await saveOne(store);
  await store.markStuck(sha, { at: 100, app: "1", code: "500" });
  expect(await store.retryStuck("1", 99)).toBe(0);
  expect(await store.retryStuck("1", 100)).toBe(1);
  await store.markStuck(sha, { at: 100, app: "1", code: "500" });
  expect(await store.retryStuck("2", 0)).toBe(1);
  expect(await store.counts()).toEqual({ saved: 1, sent: 0, stuck: 0 });
});

test("each change has a number, and later rows can be asked for by it", async () => {
  const store = open(freshDisk());
  const first = await saveOne(store);
  const second = await saveOne(store);
  const found: string[] = [];
  for await (const { rows } of store.since(first.touched)) found.push(...rows.map((row) => row.sha));
  expect(found).toEqual([second.sha]);
});

test("what screens keep survives", async () => {
  const disk = freshDisk();
  await open(disk).keep("round", { seen: 3 });
  expect(await open(disk).kept("round")).toEqual({ seen: 3 });
});

type Call = (this: unknown, ...args: unknown[]) => unknown;

/** Puts another method in place of one of the database's; the answer puts it back. */
function replacing(target: object, name: string, made: (original: Call) => Call): () => void {
  const methods = target as Record<string, Call>;
  const original = methods[name] as Call;
  methods[name] = made(original);
  return () => {
    methods[name] = original;
  };
}

test("transactions that save ask for strict durability", async () => {
  const asked: unknown[][] = [];
  const undo = replacing(FDBDatabase.prototype, "transaction", (original) =>
    function watched(...args) {
      asked.push(args);
      return original.apply(this, args);
    });
  try {
    await saveOne(open(freshDisk()));
  } finally {
    undo();
  }
  const writing = asked.filter((args) => args[1] === "readwrite");
  expect(writing.length).toBeGreaterThan(0);
  for (const args of writing) expect(args[2]).toEqual({ durability: "strict" });
});

/** Fails the next `times` writes to `records` like a browser does. */
function failingAdds(times: number, name: string, message: string): { undo: () => void; left: () => number } {
  let left = times;
  const undo = replacing(FDBObjectStore.prototype, "add", (original) =>
    function failing(...args) {
      if (left === 0) return original.apply(this, args);
      left -= 1;
      throw new DOMException(message, name);
    });
  return { undo, left: () => left };
}

test("a lost connection is opened again and the save tried once more", async () => {
  const fault = failingAdds(1, "UnknownError", "Connection to Indexed Database server lost. Refresh the page to try again");
  try {
    const store = open(freshDisk());
    const row = await saveOne(store);
    expect(fault.left()).toBe(0);
    expect((await store.all()).map((one) => one.sha)).toEqual([row.sha]);
    expect(row.device_seq).toBe(1);
  } finally {
    fault.undo();
  }
});

test("a connection lost twice is told, and nothing is half saved", async () => {
  const fault = failingAdds(2, "UnknownError", "Connection to Indexed Database server lost");
  const store = open(freshDisk());
  try {
    await expect(store.save(PHONE, [entryMaker(), entryMaker()])).rejects.toBeInstanceOf(NotStored);
  } finally {
    fault.undo();
  }
  expect(await store.all()).toEqual([]);
  expect((await saveOne(store)).device_seq).toBe(1);
});

test("a save that went through although the connection broke is not made twice", async () => {
  const disk = freshDisk();
  const store = open(disk);
  let broken = false;
  const undo = replacing(FDBDatabase.prototype, "transaction", (original) =>
    function once(...args) {
      const transaction = original.apply(this, args) as IDBTransaction;
      if (broken || args[1] !== "readwrite") return transaction;
      broken = true;
      // The write goes through; the answer is an error.
      transaction.addEventListener("complete", (event) => {
        event.stopImmediatePropagation();
        transaction.onabort?.call(transaction, new Event("abort"));
      });
      return transaction;
    });
  try {
    await saveOne(store);
  } finally {
    undo();
  }
  expect(broken).toBe(true);
  expect(await open(disk).all()).toHaveLength(1);
});

test("a full phone is told as such", async () => {
  const fault = failingAdds(1, "QuotaExceededError", "full");
  try {
    await expect(saveOne(open(freshDisk()))).rejects.toBeInstanceOf(StorageFull);
  } finally {
    fault.undo();
  }
});

test("a window with old code gives way to a newer one, and says so", async () => {
  const disk = freshDisk();
  let gone = 0;
  const old = open(disk, () => { gone += 1; });
  await saveOne(old);
  const newer = new Dexie(farmDatabaseName(FARM), disk);
  newer.version(3).stores({ records: "&sha, touched, [due+device+device_seq]", kv: "&key", segments: "&no", more: "&key" });
  await newer.open();
  expect(gone).toBe(1);
  await expect(saveOne(old)).rejects.toBeInstanceOf(StoreClosed);
  expect(await newer.table("records").count()).toBe(1);
  newer.close();
});

test("a lease is one window's until it runs out; one from a wild clock is not believed", async () => {
  const store = open(freshDisk());
  expect(await store.takeLease("one", 1000, 60)).toBe(true);
  expect(await store.takeLease("two", 1050, 60)).toBe(false);
  expect(await store.takeLease("one", 1050, 60)).toBe(true);
  expect(await store.takeLease("two", 1111, 60)).toBe(true);
  await store.takeLease("two", 9_000_000, 60);
  expect(await store.takeLease("one", 2000, 60)).toBe(true);
});
