/** Which farms are installed on this device, with their tokens, and which one is open. */
import Dexie, { type Table } from "dexie";
import { Connection, dexie, type DexieSeams } from "./connection.ts";
import { farmDatabaseName } from "./farm-store.ts";
import type { FarmRow, Kept } from "./rows.ts";

export class MetaStore {
  private readonly connection: Connection;
  private readonly farms: Table<FarmRow, string>;
  private readonly kv: Table<Kept, string>;

  constructor(private readonly seams: DexieSeams = {}) {
    const db = dexie("winter-tally", seams);
    db.version(1).stores({ farms: "&id", kv: "&key" });
    this.connection = new Connection(db);
    this.farms = db.table("farms");
    this.kv = db.table("kv");
  }

  close(): void {
    this.connection.close();
  }

  list(): Promise<FarmRow[]> {
    return this.connection.run(() => this.farms.toArray());
  }

  put(row: FarmRow): Promise<void> {
    return this.connection.run(async () => {
      await this.farms.put(row);
    });
  }

  current(): Promise<string | null> {
    return this.connection.run(
      async () => ((await this.kv.get("current"))?.value as string | undefined) ?? null,
    );
  }

  setCurrent(farmId: string | null): Promise<void> {
    return this.connection.run(async () => {
      await this.kv.put({ key: "current", value: farmId });
    });
  }

  /** Takes a farm and all it keeps off this device. Whoever calls has made sure that nothing is lost. */
  async remove(farmId: string): Promise<void> {
    await this.connection.run(async () => {
      await this.farms.delete(farmId);
      const current = (await this.kv.get("current"))?.value;
      if (current === farmId) await this.kv.put({ key: "current", value: null });
    });
    await new Dexie(farmDatabaseName(farmId), this.seams).delete();
  }
}
