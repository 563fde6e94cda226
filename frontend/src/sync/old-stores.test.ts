/**
 * Every version of the database that a release has left on a phone opens today, byte for byte.
 *
 * A new version needs a dump: `WRITE_DUMP=1 npx vitest run src/sync/old-stores.test.ts` writes the
 * one of today's version where there is none. One that is there is never written again.
 */
import { existsSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { expect, test } from "vitest";
import { Library } from "../core/shelf/library.ts";
import { canonical } from "../core/stock/canonical.ts";
import { entryFrom } from "../core/stock/entries.ts";
import { Fold } from "../core/stock/fold.ts";
import { FoldedFarm } from "./folded-farm.ts";
import { ModelServer } from "./testing/model-server.ts";
import { Phone } from "./testing/phone.ts";
import { farmDatabaseName } from "../store/farm-store.ts";
import type { Kept, RecordRow } from "../store/rows.ts";
import { FARM } from "../store/testing/entries.ts";

interface Dump {
  version: number;
  stores: Record<
    string,
    {
      keyPath: string;
      indexes: { name: string; keyPath: string | string[]; unique: boolean; multiEntry: boolean }[];
      rows: unknown[];
    }
  >;
}

const folder = new URL("../store/dumps/", import.meta.url);
/** Dexie counts in tens. */
const STEP = 10;

function opened(factory: IDBFactory): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const request = factory.open(farmDatabaseName(FARM));
    request.onerror = () => reject(new Error("not opened"));
    request.onsuccess = () => resolve(request.result);
  });
}

/** The number of today's version. */
async function version(): Promise<number> {
  const phone = new Phone(new ModelServer());
  await phone.texts();
  phone.store.close();
  const db = await opened(phone.disk.indexedDB);
  db.close();
  return db.version / STEP;
}

/** Plain JSON for what a database may hold: lists of bytes and numbers keep their kind. */
function told(_: string, value: unknown): unknown {
  if (value instanceof Uint8Array) return { bytes: Buffer.from(value).toString("base64") };
  if (value instanceof Uint32Array) return { numbers: [...value] };
  return value;
}

function heard(_: string, value: unknown): unknown {
  const { bytes, numbers } = (value ?? {}) as { bytes?: unknown; numbers?: unknown };
  if (typeof bytes === "string") return new Uint8Array(Buffer.from(bytes, "base64"));
  return Array.isArray(numbers) ? new Uint32Array(numbers as number[]) : value;
}

function readDump(name: string): Dump {
  return JSON.parse(readFileSync(new URL(name, folder), "utf-8"), heard) as Dump;
}

/** A phone with entries in every standing, a page of its own and a fold that was kept. */
async function lived(): Promise<Phone> {
  const phone = new Phone(new ModelServer());
  await phone.save();
  await phone.save({ kind: "field_set", body: { table: "crates", row: FARM, field: "name", value: "N12" } });
  await phone.sync();
  await phone.store.keep("screen:round", { at: 3 });
  const fold = new Fold(new Library([]));
  const rows = await phone.store.all();
  fold.apply(rows.map((row) => entryFrom(row.raw, row)));
  fold.seal();
  await phone.store.keepFold({ format: "dumped", epoch: 0, touched: Math.max(...rows.map((row) => row.touched)) }, 0, fold.library.segments);
  for (let i = 0; i < 3; i += 1) await phone.save();
  const [sent, stuck] = await phone.store.due("saved", 3);
  await phone.store.markSent([sent?.sha ?? ""]);
  await phone.store.markStuck(stuck?.sha ?? "", { at: 5, app: "1", code: "500" });
  return phone;
}

async function dumpOf(phone: Phone): Promise<Dump> {
  phone.store.close();
  const db = await opened(phone.disk.indexedDB);
  const dump: Dump = { version: db.version, stores: {} };
  for (const name of [...db.objectStoreNames].sort()) {
    const store = db.transaction(name).objectStore(name);
    const indexes = [...store.indexNames].sort().map((index) => {
      const { keyPath, unique, multiEntry } = store.index(index);
      return { name: index, keyPath: keyPath, unique, multiEntry };
    });
    const rows = await new Promise<unknown[]>((resolve) => {
      const request = store.getAll();
      request.onsuccess = () => resolve(request.result as unknown[]);
    });
    dump.stores[name] = { keyPath: store.keyPath as string, indexes, rows };
  }
  db.close();
  return dump;
}

if (process.env["WRITE_DUMP"]) {
  const file = new URL(`farm.v${await version()}.json`, folder);
  if (!existsSync(file)) writeFileSync(file, `${JSON.stringify(await dumpOf(await lived()), told, 1)}\n`);
}

const dumps = readdirSync(folder).sort();

/** Lays the database on a disk as that release left it, without a line of today's code. */
function laid(factory: IDBFactory, dump: Dump): Promise<void> {
  return new Promise((resolve, reject) => {
    const request = factory.open(farmDatabaseName(FARM), dump.version);
    request.onupgradeneeded = () => {
      for (const [name, { keyPath, indexes, rows }] of Object.entries(dump.stores)) {
        const store = request.result.createObjectStore(name, { keyPath });
        for (const { name: index, keyPath: path, ...options } of indexes) store.createIndex(index, path, options);
        for (const row of rows) store.add(row);
      }
    };
    request.onerror = () => reject(new Error("not laid"));
    request.onsuccess = () => {
      request.result.close();
      resolve();
    };
  });
}

test("there is a dump of every version of the database, today's among them", async () => {
  const versions = Array.from({ length: await version() }, (_, i) => i + 1);
  expect(dumps.map((name) => readDump(name).version / STEP)).toEqual(versions);
  expect(dumps).toEqual(versions.map((one) => `farm.v${one}.json`));
});

test("what a dump holds is what a phone of today would leave", async () => {
  const { version: newest, stores } = readDump(dumps.at(-1) ?? "");
  const now = await dumpOf(await lived());
  expect(newest).toBe(now.version);
  for (const [name, { keyPath, indexes }] of Object.entries(now.stores)) {
    expect({ keyPath: stores[name]?.keyPath, indexes: stores[name]?.indexes }, name).toEqual({ keyPath, indexes });
    expect(stores[name]?.rows.length, name).toBeGreaterThan(0);
  }
});

test.each(dumps)("%s opens, holds every entry byte for byte, and can be sent", async (name) => {
  const dump = readDump(name);
  const before = dump.stores["records"]?.rows as RecordRow[];
  const kept = dump.stores["kv"]?.rows as Kept[];
  expect(new Set(before.map((row) => row.due ?? "settled"))).toEqual(new Set(["saved", "sent", "stuck", "settled"]));

  const phone = new Phone(new ModelServer());
  phone.store.close();
  await laid(phone.disk.indexedDB, dump);
  phone.restart();
  expect((await phone.texts()).sort()).toEqual(before.map((row) => row.raw as string).sort());
  expect(await phone.store.cursor()).toEqual(kept.find((one) => one.key === "cursor")?.value);
  expect(await phone.store.kept("screen:round")).toEqual({ at: 3 });

  // What another build folded is told by its format, and not read: it may be laid out otherwise.
  expect(await phone.store.keptFold("this build")).toBeNull();
  const farm = new FoldedFarm({ store: phone.store, format: "this build", progress: () => undefined, closed: () => false });
  await farm.catchUp();
  const anew = new Fold(new Library([]));
  anew.apply((await phone.store.all()).map((row) => entryFrom(row.raw, row)));
  expect(canonical(farm.fold.whole())).toBe(canonical(anew.state()));

  phone.app = "a later build";
  await phone.sync();
  expect(await phone.store.counts()).toEqual({ saved: 0, sent: 0, stuck: 0 });
  expect(phone.server.log.map((one) => one.raw).sort()).toEqual(before.map((row) => row.raw as string).sort());
});
