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
import type { Segment } from "../core/shelf/library.ts";
import type { Cursor, Due, FeedRow, Kept, KeptFold, NewRow, RecordRow, SegmentRow } from "./rows.ts";

export function farmDatabaseName(farmId: string): string {
  return `winter-tally-${farmId}`;
}

/** Numbered upgrades: add a version below, never change one; rows of `records` are never dropped. */
function withVersions(db: Dexie): Dexie {
  db.version(1).stores({
    records: "&sha, touched, [due+device+device_seq]",
    kv: "&key",
  });
  db.version(2).stores({ segments: "&no" });
  return db;
}

const keptKey = (key: string): string => `kept:${key}`;

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

/** A part of the rows after a change, and how far it brings whoever takes it. */
export interface Slice {
  rows: RecordRow[];
  /** Every row that was written last by this change or an earlier one has been given. */
  upTo: number;
  done: number;
  total: number;
}

const SLICE = 1_000;

const START: Cursor = { seq: 0, chain: CHAIN_START };

export class FarmStore {
  private readonly connection: Connection;
  private readonly records: Table<RecordRow, string>;
  private readonly kv: Table<Kept, string>;
  private readonly segments: Table<SegmentRow, number>;

  constructor(farmId: string, seams: DexieSeams = {}, onGone: () => void = () => undefined) {
    this.connection = new Connection(withVersions(dexie(farmDatabaseName(farmId), seams)), onGone);
    this.records = this.connection.db.table("records");
    this.kv = this.connection.db.table("kv");
    this.segments = this.connection.db.table("segments");
  }

  close(): void {
    this.connection.close();
  }

  /**
   * All or none are kept, with numbers in the order given; resolves after `complete`.
   * What was kept under `letGo` goes in the same transaction.
   */
  async save(device: string, makers: readonly ((slot: Slot) => Made)[], letGo: readonly string[] = []): Promise<RecordRow[]> {
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
          await this.kv.bulkDelete(letGo.map(keptKey));
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

  /**
   * Rows written by changes after number `touched`, in that order and in parts that fit a phone.
   * What is written meanwhile may be missing: ask again from the last `upTo`.
   */
  async *since(touched: number): AsyncGenerator<Slice> {
    const few = await this.connection.run(() => this.after(touched).limit(SLICE + 1).toArray());
    if (few.length <= SLICE) {
      const upTo = few.reduce((most, row) => Math.max(most, row.touched), touched);
      yield { rows: few, upTo, done: few.length, total: few.length };
      return;
    }
    const { keys, end } = await this.keysAfter(touched);
    let upTo = touched;
    for (let at = 0; at < keys.length; at += SLICE) {
      const found = await this.connection.run(() => this.records.bulkGet(keys.slice(at, at + SLICE)));
      const rows = found.filter((row) => row !== undefined);
      const done = at + found.length;
      // A row that was written again meanwhile says nothing of those before it.
      const last = rows.findLast((row) => row.touched <= end);
      if (last !== undefined) upTo = Math.max(upTo, last.touched - 1);
      yield { rows, upTo: done === keys.length ? end : upTo, done, total: keys.length };
    }
  }

  private after(touched: number) {
    return this.records.where("touched").above(touched);
  }

  private keysAfter(touched: number): Promise<{ keys: string[]; end: number }> {
    return this.connection.run(() =>
      this.connection.db.transaction("r", this.records, this.kv, async () => ({
        end: (await this.get<number>("touched")) ?? touched,
        keys: await this.after(touched).primaryKeys(),
      })),
    );
  }

  /** What is kept of the fold, where it was made this way and of this history; null otherwise. */
  keptFold(format: string): Promise<{ kept: KeptFold; segments: Segment[] } | null> {
    return this.connection.run(() =>
      this.connection.db.transaction("r", this.segments, this.kv, async () => {
        const kept = await this.get<KeptFold>("fold");
        const epoch = (await this.get<number>("epoch")) ?? 0;
        if (kept === undefined || kept.format !== format || kept.epoch !== epoch) return null;
        const rows = await this.segments.bulkGet(kept.segments);
        if (rows.some((row) => row === undefined)) return null;
        return { kept, segments: rows.map((row) => (row as SegmentRow).segment) };
      }),
    );
  }

  /**
   * Keeps a fold in place of the one that was kept, all or nothing. `segments` are numbers of
   * those that lie here already, and new ones. Null, and nothing is written, when another window
   * has kept one since `after`.
   */
  keepFold(
    fold: Omit<KeptFold, "generation" | "segments">,
    after: number,
    segments: readonly (number | Segment)[],
  ): Promise<KeptFold | null> {
    return this.connection.run(() =>
      this.connection.db.transaction("rw", this.segments, this.kv, async () => {
        const old = await this.get<KeptFold>("fold");
        const epoch = (await this.get<number>("epoch")) ?? 0;
        if ((old?.generation ?? 0) !== after || epoch !== fold.epoch) return null;
        let no = Math.max(0, ...(old?.segments ?? []), ...segments.filter((one) => typeof one === "number"));
        const made: SegmentRow[] = [];
        const numbers = segments.map((one) => {
          if (typeof one === "number") return one;
          no += 1;
          made.push({ no, segment: one });
          return no;
        });
        await this.segments.bulkPut(made);
        await this.segments.bulkDelete((old?.segments ?? []).filter((one) => !numbers.includes(one)));
        const kept = { ...fold, generation: after + 1, segments: numbers };
        await this.set("fold", kept);
        return kept;
      }),
    );
  }

  /** The number of the fold that is kept, of whatever format. */
  async foldGeneration(): Promise<number> {
    return (await this.read<KeptFold>("fold"))?.generation ?? 0;
  }

  /** How many entries are kept here. */
  size(): Promise<number> {
    return this.connection.run(() => this.records.count());
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
        // In parts: a farm of many winters does not fit a phone at once.
        const keys = await this.records.toCollection().primaryKeys();
        for (let at = 0; at < keys.length; at += SLICE) {
          const rows = (await this.records.bulkGet(keys.slice(at, at + SLICE))).filter((row) => row !== undefined);
          await this.records.bulkPut(rows.map(({ stuck: _, ...row }) => ({ ...row, seq: null, due: "saved" as const, touched })));
        }
        await this.set("cursor", START);
        await this.set("epoch", ((await this.get<number>("epoch")) ?? 0) + 1);
      }),
    );
  }

  keep(key: string, value: unknown): Promise<void> {
    return this.connection.run(() =>
      this.connection.db.transaction("rw", this.kv, () => this.set(keptKey(key), value)),
    );
  }

  kept(key: string): Promise<unknown> {
    return this.read(keptKey(key));
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
