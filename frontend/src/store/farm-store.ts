/**
 * One farm's records on this device.
 *
 * What always holds:
 * 1. A row's `raw` is never changed and no row is ever taken out.
 * 2. The cursor moves in the transaction that writes the entries before it.
 * 3. `device_seq` is given inside the transaction that keeps the record, so two
 *    windows never give the same one.
 * 4. Every transaction that writes asks for durability "strict".
 */
import type Dexie from "dexie";
import type { Table } from "dexie";
import { CHAIN_START } from "../core/sync/chain.ts";
import { afterSeeing, NO_STAMP, type Stamp } from "../core/sync/stamp.ts";
import { Connection, dexie, type DexieSeams } from "./connection.ts";
import type { Cursor, Due, FeedRow, Kept, NewRow, RecordRow } from "./rows.ts";

export function farmDatabaseName(farmId: string): string {
  return `winter-tally-${farmId}`;
}

/** Numbered upgrades: add a version below, never change one; rows of `records` are never dropped. */
function withVersions(db: Dexie): Dexie {
  db.version(1).stores({
    records: "&sha, touched, [due+device+device_seq]",
    kv: "&key",
  });
  return db;
}

export interface Slot {
  device_seq: number;
  /** The clock for `field_set`: the last stamp this phone gave or saw. */
  clock: Stamp;
}

export interface Made {
  row: NewRow;
  /** The stamp it was given, if any. */
  stamp: Stamp | null;
}

export interface DueCounts {
  saved: number;
  sent: number;
  stuck: number;
}

const START: Cursor = { seq: 0, chain: CHAIN_START };

export class FarmStore {
  private readonly connection: Connection;
  private readonly records: Table<RecordRow, string>;
  private readonly kv: Table<Kept, string>;

  constructor(farmId: string, seams: DexieSeams = {}, onGone: () => void = () => undefined) {
    this.connection = new Connection(withVersions(dexie(farmDatabaseName(farmId), seams)), onGone);
    this.records = this.connection.db.table("records");
    this.kv = this.connection.db.table("kv");
  }

  close(): void {
    this.connection.close();
  }

  /** All or none are kept, with numbers in the order given; resolves after `complete`. */
  async save(device: string, makers: readonly ((slot: Slot) => Made)[]): Promise<RecordRow[]> {
    let rows: RecordRow[] = [];
    return this.connection.run(
      () =>
        this.writing(async (touched) => {
          let device_seq = (await this.get<number>(`device_seq:${device}`)) ?? 0;
          let clock = (await this.get<Stamp>("clock")) ?? NO_STAMP;
          rows = makers.map((make) => {
            device_seq += 1;
            const { row, stamp } = make({ device_seq, clock });
            clock = stamp ?? clock;
            return { ...row, touched };
          });
          await this.records.bulkAdd(rows);
          await this.set(`device_seq:${device}`, device_seq);
          await this.set("clock", clock);
          return rows;
        }),
      () => this.allThere(rows),
    );
  }

  private async allThere(rows: RecordRow[]): Promise<RecordRow[] | undefined> {
    if (rows.length === 0) return undefined;
    const found = await this.records.bulkGet(rows.map((row) => row.sha));
    return found.every((row) => row !== undefined) ? rows : undefined;
  }

  all(): Promise<RecordRow[]> {
    return this.connection.run(() => this.records.toArray());
  }

  /** Rows written by changes after number `touched`. */
  since(touched: number): Promise<RecordRow[]> {
    return this.connection.run(() => this.records.where("touched").above(touched).toArray());
  }

  /** How often the farm's history was started anew on this device. */
  async epoch(): Promise<number> {
    return (await this.read<number>("epoch")) ?? 0;
  }

  async cursor(): Promise<Cursor> {
    return (await this.read<Cursor>("cursor")) ?? START;
  }

  /** The oldest rows that stand at `due`, by device and its own count. */
  due(due: Due, limit: number): Promise<RecordRow[]> {
    return this.connection.run(() => this.dueRows(due).limit(limit).toArray());
  }

  counts(): Promise<DueCounts> {
    return this.connection.run(() =>
      this.connection.db.transaction("r", this.records, async () => ({
        saved: await this.dueRows("saved").count(),
        sent: await this.dueRows("sent").count(),
        stuck: await this.dueRows("stuck").count(),
      })),
    );
  }

  /** The server has them, by its own word; they stay until they are seen in the feed. */
  markSent(shas: readonly string[]): Promise<void> {
    return this.mark(shas, (row) => {
      if (row.due === undefined) return false;
      row.due = "sent";
      delete row.stuck;
      return true;
    });
  }

  markStuck(sha: string, stuck: { at: number; app: string; code: string }): Promise<void> {
    return this.mark([sha], (row) => {
      if (row.due === undefined) return false;
      row.due = "stuck";
      row.stuck = stuck;
      return true;
    });
  }

  /** Stuck rows of another build, or set aside before `before`, are tried again. */
  async retryStuck(app: string, before: number): Promise<number> {
    const stuck = await this.due("stuck", Infinity);
    const again = stuck.filter((row) => row.stuck === undefined || row.stuck.app !== app || row.stuck.at <= before);
    if (again.length > 0) await this.mark(again.map((row) => row.sha), backToSaved);
    return again.length;
  }

  /** Every row that was sent but did not come back is to be sent again; says how many. */
  async resendSent(): Promise<number> {
    const sent = await this.due("sent", Infinity);
    if (sent.length > 0) await this.mark(sent.map((row) => row.sha), backToSaved);
    return sent.length;
  }

  private mark(shas: readonly string[], change: (row: RecordRow) => boolean): Promise<void> {
    return this.connection.run(() =>
      this.writing(async (touched) => {
        const rows = (await this.records.bulkGet([...shas])).filter((row) => row !== undefined);
        const changed = rows.filter(change).map((row) => ({ ...row, touched }));
        await this.records.bulkPut(changed);
      }),
    );
  }

  /**
   * Writes a page of the feed and moves the cursor to its end. False, and nothing is
   * written, when another window has moved the cursor since `from`.
   */
  applyPage(from: Cursor, entries: readonly FeedRow[]): Promise<boolean> {
    return this.connection.run(() =>
      this.writing(async (touched) => {
        const cursor = (await this.get<Cursor>("cursor")) ?? START;
        if (cursor.seq !== from.seq || cursor.chain !== from.chain) return false;
        const last = entries[entries.length - 1];
        if (!last) return true;
        await this.records.bulkPut(entries.map((entry) => settledRow(entry, touched)));
        let clock = (await this.get<Stamp>("clock")) ?? NO_STAMP;
        for (const { stamp_eff } of entries) if (stamp_eff) clock = afterSeeing(clock, stamp_eff);
        await this.set("clock", clock);
        await this.set("cursor", { seq: last.seq, chain: last.chain });
        return true;
      }),
    );
  }

  /** The server's history is another one: begin at 0, and offer it all this device holds. */
  startAnew(): Promise<void> {
    return this.connection.run(() =>
      this.writing(async (touched) => {
        const rows = await this.records.toArray();
        await this.records.bulkPut(
          rows.map(({ stuck: _, ...row }) => ({ ...row, seq: null, due: "saved" as const, touched })),
        );
        await this.set("cursor", START);
        await this.set("epoch", ((await this.get<number>("epoch")) ?? 0) + 1);
      }),
    );
  }

  keep(key: string, value: unknown): Promise<void> {
    return this.connection.run(() =>
      this.connection.db.transaction("rw", this.kv, () => this.set(`kept:${key}`, value)),
    );
  }

  kept(key: string): Promise<unknown> {
    return this.read(`kept:${key}`);
  }

  /** Whether `holder` may sync until `now + ms`: where the browser has no locks. */
  takeLease(holder: string, now: number, ms: number): Promise<boolean> {
    return this.connection.run(() =>
      this.connection.db.transaction("rw", this.kv, async () => {
        const lease = await this.get<{ holder: string; until: number }>("lease");
        // A lease far in the future was written by a clock that ran wild.
        const taken = lease && lease.holder !== holder && lease.until > now && lease.until <= now + 2 * ms;
        if (taken) return false;
        await this.set("lease", { holder, until: now + ms });
        return true;
      }),
    );
  }

  private dueRows(due: Due) {
    return this.records
      .where("[due+device+device_seq]")
      .between([due, "", 0], [due, "\uffff", Number.MAX_SAFE_INTEGER], true, true);
  }

  /** One strict transaction over all, numbered. */
  private writing<T>(act: (touched: number) => Promise<T>): PromiseLike<T> {
    return this.connection.db.transaction("rw", this.records, this.kv, async () => {
      const touched = ((await this.get<number>("touched")) ?? 0) + 1;
      await this.set("touched", touched);
      return act(touched);
    });
  }

  private read<T>(key: string): Promise<T | undefined> {
    return this.connection.run(() => this.get<T>(key));
  }

  private async get<T>(key: string): Promise<T | undefined> {
    return (await this.kv.get(key))?.value as T | undefined;
  }

  private async set(key: string, value: unknown): Promise<void> {
    await this.kv.put({ key, value });
  }
}

function settledRow(entry: FeedRow, touched: number): RecordRow {
  const { chain: _, ...row } = entry;
  return { ...row, touched };
}

function backToSaved(row: RecordRow): boolean {
  if (row.due === undefined) return false;
  row.due = "saved";
  delete row.stuck;
  return true;
}
