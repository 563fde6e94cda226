import { readdirSync, readFileSync } from "node:fs";
import { expect, test } from "vitest";
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

test("there is a dump of every version of the database", () => {
  expect(dumps).toEqual(["farm.v1.json"]);
});

test.each(dumps)("%s opens, holds every entry byte for byte, and can be sent", async (name) => {
  const dump = JSON.parse(readFileSync(new URL(name, folder), "utf-8")) as Dump;
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

  phone.app = "a later build";
  await phone.sync();
  expect(await phone.store.counts()).toEqual({ saved: 0, sent: 0, stuck: 0 });
  expect(phone.server.log.map((one) => one.raw).sort()).toEqual(before.map((row) => row.raw as string).sort());
});
