/** The database in memory that the tests of the store use (fake-indexeddb). */
import { IDBDatabase, IDBFactory, IDBIndex, IDBKeyRange, IDBObjectStore } from "fake-indexeddb";
import type { DexieSeams } from "../connection.ts";

export const FDBDatabase = IDBDatabase;
export const FDBFactory = IDBFactory;
export const FDBIndex = IDBIndex;
export const FDBObjectStore = IDBObjectStore;

export type Seams = Required<DexieSeams>;

export function freshDisk(): Seams {
  return { indexedDB: new IDBFactory(), IDBKeyRange };
}
