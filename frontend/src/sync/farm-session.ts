/** One farm's stock on this device, alive: folded from the store, written through it, synced. */
import type { Body } from "../core/stock/entries.ts";
import { waysOut, type Choice } from "../core/stock/ways-out.ts";
import { postedTo, whatIf, type LotChange } from "../core/stock/what-if.ts";
import type { Posting, StockState } from "../core/stock/state.ts";
import { uuid7 } from "../core/sync/envelope.ts";
import { lesserRole } from "../core/sync/rights.ts";
import { FarmStore } from "../store/farm-store.ts";
import { StoreClosed } from "../store/failures.ts";
import type { FarmRow, RecordRow } from "../store/rows.ts";
import type { Asked } from "./addresses.ts";
import { askApi } from "./api.ts";
import { civilDate } from "./civil-date.ts";
import { makerFor, saveFailure } from "./drafting.ts";
import { exportLines } from "./export.ts";
import { FoldedFarm, type Reading } from "./folded-farm.ts";
import { httpTransport, type Door } from "./http-transport.ts";
import { leaseLock, webLock, type Lock } from "./lock.ts";
import { SyncLoop } from "./loop.ts";
import type { Device, Draft, Farm, FarmSession, LocalEntry, Member, Saved, SyncState } from "./session-types.ts";
import type { Neighbours, Surroundings } from "./surroundings.ts";

/** While more than this is still to come, pages are kept but not yet folded, unless as many came already. */
const FOLD_LATER_ABOVE = 2_000;
const FOLD_AT_LEAST_EVERY = 4_000;

const screenKey = (key: string): string => `screen:${key}`;

export class LiveSession implements FarmSession {
  readonly sync: SyncState;
  private readonly store: FarmStore;
  private readonly loop: SyncLoop;
  private readonly door: Door;
  private readonly neighbours: Neighbours;
  private readonly endMoments: () => void;
  private readonly listeners = new Set<() => void>();
  private readonly folded: FoldedFarm;
  private readNow: Reading | null = null;
  private tellItTakesLong: () => void = () => undefined;
  private readonly takesLong = new Promise<void>((resolve) => {
    this.tellItTakesLong = resolve;
  });
  private foldedAt = 0;
  /** Everything listed, until the next change. */
  private wholeNow: StockState | null = null;
  private authorId: string;
  private lastOkKept: number | null = null;
  private refreshing: Promise<void> = Promise.resolve();
  private closed = false;

  private constructor(
    private row: FarmRow,
    private readonly around: Surroundings,
    private readonly onGone: () => void,
  ) {
    this.authorId = row.member.id;
    this.store = new FarmStore(row.id, around.seams, () => this.gone());
    this.folded = new FoldedFarm({
      store: this.store,
      format: around.foldFormat ?? around.app,
      progress: (reading) => {
        this.readNow = reading;
        if (reading !== null) this.tellItTakesLong();
        this.tellListeners();
      },
      closed: () => this.closed,
    });
    this.door = around.door(() => this.row.token);
    this.loop = new SyncLoop({
      store: this.store,
      transport: httpTransport(this.door),
      lock: this.lock(),
      now: around.now,
      random: around.random,
      wait: around.wait,
      app: around.app,
      device: row.device.id,
      changed: () => this.afterSync(),
    });
    this.sync = syncView(this.loop);
    this.neighbours = around.neighbours(`winter-tally-${row.id}`, () => void this.refresh().catch(() => undefined));
    this.endMoments = around.goodMoments(() => {
      void this.refresh().catch(() => undefined);
      this.loop.nudge();
    });
  }

  /** Resolves when all that is kept on this device is folded; the sync goes on by itself. */
  static async open(row: FarmRow, around: Surroundings, onGone: () => void): Promise<LiveSession> {
    const session = new LiveSession(row, around, onGone);
    const author = await session.store.kept("author");
    if (typeof author === "string" && row.members.some((one) => one.id === author)) session.authorId = author;
    const lastOk = await session.store.kept("last_ok_at");
    if (typeof lastOk === "number") session.loop.state.last_ok_at = session.lastOkKept = lastOk;
    // What takes long is read with the app open, which shows how far it is; entries are sent meanwhile.
    const read = session.refresh();
    await Promise.race([read, session.takesLong]);
    void read.then(() => session.refresh()).catch(() => undefined);
    void session.loop.run();
    return session;
  }

  get farm(): Farm {
    return this.row.farm;
  }

  get device(): Device {
    return this.row.device;
  }

  get member(): Member {
    return this.row.member as Member;
  }

  get members(): readonly Member[] {
    return this.row.members as Member[];
  }

  /** How far the entries on this device have been read since the app was opened; null when they are. */
  get reading(): Reading | null {
    return this.readNow;
  }

  whole(): StockState {
    const { fold } = this.folded;
    if (fold.isWhole) return fold.state();
    return (this.wholeNow ??= fold.whole());
  }

  get state(): StockState {
    return this.folded.fold.state();
  }

  get author(): string {
    return this.authorId;
  }

  today(): string {
    return this.farm.as_of ?? civilDate(this.around.now(), this.farm.time_zone);
  }

  /** Now, ms UTC; in a farm whose story stands at a day, this time of that day. */
  private clock(): number {
    const now = this.around.now();
    if (this.farm.as_of === null) return now;
    const today = civilDate(now, this.farm.time_zone);
    return now - (Date.parse(`${today}T00:00:00Z`) - Date.parse(`${this.farm.as_of}T00:00:00Z`));
  }

  newId(): string {
    return uuid7(this.around.now(), this.around.randomBytes(10));
  }

  chooseAuthor(memberId: string): void {
    if (!this.row.members.some((one) => one.id === memberId)) return;
    this.authorId = memberId;
    void this.store.keep("author", memberId).catch(() => undefined);
    this.tellListeners();
  }

  record(...drafts: Draft[]): Promise<Saved[]> {
    return this.recordFrom([], ...drafts);
  }

  async recordFrom(kept: readonly string[], ...drafts: Draft[]): Promise<Saved[]> {
    const desk = {
      farm: this.farm,
      device: this.device.id,
      member: this.member,
      author: this.members.find((one) => one.id === this.authorId) ?? this.member,
      now: this.clock(),
      today: this.today(),
      randomBytes: this.around.randomBytes,
    };
    const makers = drafts.map((draft) => makerFor(draft, desk));
    let rows: RecordRow[];
    try {
      rows = await this.store.save(desk.device, makers, kept.map(screenKey));
    } catch (error) {
      throw saveFailure(error, await this.store.size().catch(() => null));
    }
    this.askToPersist();
    // It is on disk: nothing that fails from here on makes it unsaved.
    await this.refresh().catch(() => undefined);
    this.neighbours.tell();
    this.loop.nudge();
    return rows.map((row, i) => ({ sha: row.sha, id: this.folded.view.get(row.sha)?.id ?? "", kind: drafts[i]?.kind ?? "field_set" }));
  }

  void(sha: string, why?: string): Promise<Saved[]> {
    const target = this.folded.view.get(sha);
    const body = {
      target: sha,
      ...(target && target.id !== "" ? { target_id: target.id } : {}),
      ...(why === undefined ? {} : { why }),
    };
    return this.record({ kind: "record_voided", body });
  }

  entry(sha: string): LocalEntry | undefined {
    return this.folded.view.get(sha);
  }

  entriesOn(date: string): LocalEntry[] {
    return this.folded.view.on(date);
  }

  entriesDatedAnew(date: string): LocalEntry[] {
    return this.folded.view.datedAnew(date);
  }

  entriesFor(key: { lot?: string; crate?: string }): LocalEntry[] {
    const ids = [key.lot, key.crate].filter((id) => id !== undefined);
    const codes = Object.entries(this.state.codes)
      .filter(([, code]) => ids.includes(code.id))
      .map(([code]) => code);
    return this.folded.view.about([...ids, ...codes]);
  }

  unsettled(): LocalEntry[] {
    return this.folded.view.unsettled();
  }

  waysOut(problem: string, out: string, choice: Omit<Choice, "today">): Draft[] {
    return waysOut(this.folded.fold, problem, out, { ...choice, today: this.today() });
  }

  whatIf(drafts: readonly Draft[]): LotChange[] {
    const person = this.members.find((one) => one.id === this.authorId) ?? this.member;
    const today = this.today();
    const role = lesserRole(person.role, this.member.role);
    const hand = { author: person.id, role, device: this.device.id, now: this.clock(), today };
    const ways = drafts.map(({ kind, body, occurred_on = today }) => ({ kind, body: body as Body, occurred_on }));
    return whatIf(this.folded.fold, ways, hand);
  }

  postedTo(lot: string): Posting[] {
    return postedTo(this.folded.fold, lot);
  }

  stuck(): LocalEntry[] {
    return this.folded.view.stuck();
  }

  async tryStuckAgain(): Promise<void> {
    await this.store.retryStuck(this.around.app, this.around.now());
    await this.sync.now();
  }

  subscribe(fn: () => void): () => void {
    this.listeners.add(fn);
    return () => this.listeners.delete(fn);
  }

  keep(key: string, value: unknown): Promise<void> {
    // Through JSON: what screens hand over may be a proxy that the database refuses.
    const plain: unknown = value === undefined ? undefined : JSON.parse(JSON.stringify(value));
    return this.store.keep(screenKey(key), plain);
  }

  async kept<T>(key: string): Promise<T | undefined> {
    return (await this.store.kept(screenKey(key))) as T | undefined;
  }

  async exportUnsent(): Promise<Blob> {
    const rows: RecordRow[] = [];
    for (const due of ["saved", "sent", "stuck"] as const) rows.push(...(await this.store.due(due, Infinity)));
    return exportLines(rows);
  }

  async exportAll(): Promise<Blob> {
    return exportLines(await this.store.all());
  }

  api<T>(path: Asked, init?: RequestInit): Promise<T> {
    return askApi<T>(this.door, path, init);
  }

  /** The farm, its people and this device as the server tells them now. */
  take(row: FarmRow): void {
    this.row = row;
    this.tellListeners();
  }

  get token(): string {
    return this.row.token;
  }

  close(): void {
    if (this.closed) return;
    this.closed = true;
    this.loop.close();
    this.endMoments();
    this.neighbours.close();
    this.store.close();
  }

  private gone(): void {
    this.close();
    Object.assign(this.loop.state, { phase: "waiting", last_error: "other_window" });
    this.tellListeners();
    this.onGone();
  }

  private lock(): Lock {
    const name = `tubertrack-sync-${this.row.id}`;
    const { locks, now, wait } = this.around;
    if (locks) return webLock(name, locks);
    return leaseLock({ store: this.store, holder: this.newId(), now, wait });
  }

  private askToPersist(): void {
    void this.store
      .kept("asked_to_persist")
      .then(async (asked) => {
        if (asked) return;
        await this.store.keep("asked_to_persist", true);
        await this.around.persist();
      })
      .catch(() => undefined);
  }

  private async afterSync(): Promise<void> {
    const { phase, done, total, last_ok_at } = this.loop.state;
    if (this.readNow !== null) {
      this.tellListeners();
      return;
    }
    if (phase === "pulling" && total - done > FOLD_LATER_ABOVE && done - this.foldedAt < FOLD_AT_LEAST_EVERY) {
      if (done < this.foldedAt) this.foldedAt = 0;
      this.tellListeners();
      return;
    }
    this.foldedAt = done;
    await this.refresh();
    this.neighbours.tell();
    if (last_ok_at !== null && last_ok_at !== this.lastOkKept && !this.closed) {
      this.lastOkKept = last_ok_at;
      await this.store.keep("last_ok_at", last_ok_at).catch(() => undefined);
    }
  }

  /** Takes in what the store holds beyond what was folded; one at a time. */
  private refresh(): Promise<void> {
    const mine = this.refreshing.then(() => this.takeNewRows());
    this.refreshing = mine.catch(() => undefined);
    return mine.catch((error: unknown) => {
      if (!(error instanceof StoreClosed) && !this.closed) throw error;
    });
  }

  private async takeNewRows(): Promise<void> {
    if (this.closed) return;
    this.wholeNow = null;
    await this.folded.catchUp();
    this.wholeNow = null;
    this.tellListeners();
  }

  private tellListeners(): void {
    for (const tell of [...this.listeners]) tell();
  }
}

function syncView(loop: SyncLoop): SyncState {
  const { state } = loop;
  return {
    get phase() {
      return state.phase;
    },
    get done() {
      return state.done;
    },
    get total() {
      return state.total;
    },
    get last_ok_at() {
      return state.last_ok_at;
    },
    get last_error() {
      return state.last_error;
    },
    get fetched() {
      return state.fetched;
    },
    get paused() {
      return loop.paused;
    },
    pause: () => loop.pause(),
    resume: () => loop.resume(),
    nudge: () => loop.nudge(),
    now: () => loop.now(),
  };
}
