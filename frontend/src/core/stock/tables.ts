/**
 * What the fold found out, as pages: those in use are plain objects, the others lie packed.
 *
 * In use is everything as long as there are few entries; on a large farm what is in store, and
 * what happened in the last 400 days. The day that counts is that of the newest entry, so that no
 * clock is asked.
 */
import type { Library, Shelf, Trail } from "../shelf/library.ts";
import type { ActIndex } from "./act-index.ts";
import { blankTable, type Act } from "./acts.ts";
import type { CodeBook } from "./code-book.ts";
import { isEqual } from "./equal.ts";
import { NearPages, tableOver } from "./near-pages.ts";
import { checkPage, readingPages } from "./pages.ts";
import type {
  Check, Crate, Lot, Planting, Posting, Problem, Promised, Reading, Round, Row, StockState,
} from "./state.ts";

const DAYS_IN_USE = 400;
const DAY_MS = 86_400_000;

/** What is neither a page nor found elsewhere. */
interface Rest {
  count: number;
  newest: string;
  same: StockState["same"];
  printed: string[];
  unknown: string[];
  near: Record<"lots" | "rounds", string[]>;
}

export class Tables {
  readonly state: StockState;
  readonly lots: NearPages<Lot>;
  readonly crates: NearPages<Crate>;
  readonly rounds: NearPages<Round>;
  readonly plantings: NearPages<Planting>;
  readonly promises: NearPages<Promised>;
  readonly problems: NearPages<Problem>;
  readonly held: NearPages<string>;
  private readonly rows: NearPages<Row>;
  /** By lot, then by the key of the posting. */
  private readonly postings: Shelf<Map<string, Posting>>;
  private readonly lastPosted = new Map<string, string>();
  private readonly rest: Shelf<Rest>;
  /** By table and month, the hashes of the entries that ever were a check or a reading in it. */
  private readonly made: Trail;
  readonly printed = new Set<string>();
  readonly unknown = new Set<string>();
  private newest = "";
  private count = 0;

  /** `room`: up to so many entries everything is in use. */
  constructor(
    library: Library,
    private readonly index: ActIndex,
    private readonly codeBook: CodeBook,
    private readonly room: number,
  ) {
    this.lots = new NearPages("lots", library, (lot, key) => this.isInUse(lot, key));
    this.rounds = new NearPages("rounds", library, (round) => round.ended === 0 || round.on >= this.since());
    this.crates = new NearPages("crates", library);
    this.plantings = new NearPages("plantings", library);
    this.promises = new NearPages("promises", library);
    this.problems = new NearPages("problems", library);
    this.held = new NearPages("held", library);
    this.rows = new NearPages("rows", library);
    this.postings = library.shelf("postings by lot", {
      plain: (rows) => [...rows],
      value: (rows: [string, Posting][]) => new Map(rows),
    });
    this.rest = library.shelf("rest");
    this.made = library.trail("entries by page");
    this.state = {
      lots: this.lots.pages, crates: this.crates.pages, rows: blankTable(), same: blankTable(),
      codes: codeBook.codes, postings: blankTable(),
      checks: tableOver({ get: (sha) => this.checkOf(sha) }),
      readings: tableOver({ get: (key) => this.readingOf(key) }),
      rounds: this.rounds.pages, plantings: this.plantings.pages, promises: this.promises.pages,
      printed: blankTable(), problems: this.problems.pages, held: this.held.pages, unknown: 0,
    };
    this.fetch();
  }

  /** The first day of what is in use. */
  private since(): string {
    if (this.count <= this.room) return "";
    const newest = Date.parse(`${this.newest}T00:00:00Z`);
    return Number.isNaN(newest) ? "" : new Date(newest - DAYS_IN_USE * DAY_MS).toISOString().slice(0, 10);
  }

  private isInUse(lot: Lot, key: string): boolean {
    const since = this.since();
    if (lot.balance !== 0 || (this.lastPosted.get(key) ?? "") >= since) return true;
    return [lot.born_on, lot.packed_on, lot.looked_on, lot.counted_on].some((on) => on >= since);
  }

  /** One more entry was taken in. */
  counted(): void {
    this.count += 1;
  }

  /** Whether everything is in use, so that every list is whole. */
  get isWhole(): boolean {
    return this.since() === "";
  }

  /** An act of that day was taken in. */
  seen(on: string): void {
    if (on > this.newest) this.newest = on;
  }

  // pages of entries

  private checkOf(sha: string): Check | undefined {
    const act = this.index.act(sha);
    return act?.kind === "checked" ? checkPage(act, this.codeBook.crateOf(act)) : undefined;
  }

  private readingOf(key: string): Reading | undefined {
    const act = this.index.act(key.slice(0, key.indexOf(":")));
    return act?.kind === "measured" ? readingPages(act).get(key) : undefined;
  }

  /** Works out anew what page the entry itself is. */
  putEntry(sha: string, act: Act | undefined): void {
    const { checks, readings } = this.state;
    if (act?.kind === "checked") {
      checks[sha] = checkPage(act, this.codeBook.crateOf(act));
      this.noteMade("checks", act);
    } else delete checks[sha];
    for (let i = 0; Object.hasOwn(readings, `${sha}:${i}`); i += 1) delete readings[`${sha}:${i}`];
    if (act?.kind !== "measured") return;
    for (const [key, page] of readingPages(act)) readings[key] = page;
    this.noteMade("readings", act);
  }

  private noteMade(table: "checks" | "readings", { on, sha256 }: Act): void {
    this.made.append(`${table} ${on.slice(0, 7)}`, sha256);
  }

  /** The entries that make pages of this table, of those in months since a day. */
  private *makersOf(table: "checks" | "readings", since: string): Generator<Act> {
    const seen = new Set<string>();
    for (const key of this.made.keys()) {
      const [name, month = ""] = key.split(" ");
      if (name !== table || month < since.slice(0, 7)) continue;
      for (const sha of this.made.get(key) ?? []) {
        const act = seen.has(sha) ? undefined : this.index.act(sha);
        seen.add(sha);
        if (act !== undefined) yield act;
      }
    }
  }

  // pages of lots and rows

  setPostings(lot: string, rows: Map<string, Posting>): void {
    const { postings } = this.state;
    const old = this.postings.get(lot);
    for (const key of old?.keys() ?? []) {
      if (!rows.has(key) && postings[key]?.lot === lot) delete postings[key];
    }
    for (const [key, row] of rows) if (!isEqual(postings[key], row)) postings[key] = row;
    this.notePosted(lot, rows);
    if (rows.size === 0) this.postings.delete(lot);
    else if (old === undefined || !isEqual([...old], [...rows])) this.postings.set(lot, rows);
  }

  /** What is posted to a lot, by key. */
  postingsOf(lot: string): ReadonlyMap<string, Posting> {
    return this.postings.get(lot) ?? new Map();
  }

  private notePosted(lot: string, rows: ReadonlyMap<string, Posting>): void {
    let last = "";
    for (const { on } of rows.values()) if (on > last) last = on;
    this.lastPosted.set(lot, last);
  }

  setRow(table: string, row: string, page: Row | undefined): void {
    this.rows.put(`${table} ${row}`, page);
    const rows = (this.state.rows[table] ??= blankTable());
    if (page === undefined) delete rows[row];
    else rows[row] = page;
    if (Object.keys(rows).length === 0) delete this.state.rows[table];
  }

  /** The variety of every lot and planting: its thing and what its page says. */
  *varieties(): Generator<[sort: string, key: string, variety: string]> {
    for (const sort of ["lots", "plantings"] as const) {
      for (const [key, { variety }] of Object.entries<{ variety: string }>(this[sort].all())) {
        yield [sort === "lots" ? "lot" : "planting", key, variety];
      }
    }
  }

  // packing

  /** To be called before what changed is packed. */
  note(): void {
    this.rest.set("rest", {
      count: this.count, newest: this.newest, same: this.state.same, printed: [...this.printed], unknown: [...this.unknown],
      near: { lots: this.lots.nearKeys(), rounds: this.rounds.nearKeys() },
    });
  }

  /** To be called after it was packed: lets go of the pages that are not in use. */
  settle(): void {
    const since = this.since();
    const { postings, checks, readings } = this.state;
    this.lots.settle();
    this.rounds.settle();
    for (const table of [checks, readings] as Record<string, { on: string }>[]) {
      for (const [key, page] of Object.entries(table)) if (page.on < since) delete table[key];
    }
    for (const [key, { lot }] of Object.entries(postings)) {
      if (!Object.hasOwn(this.state.lots, lot)) delete postings[key];
    }
    for (const lot of this.lastPosted.keys()) if (!Object.hasOwn(this.state.lots, lot)) this.lastPosted.delete(lot);
  }

  private fetch(): void {
    const rest = this.rest.peek("rest");
    if (rest === undefined) return;
    const { state } = this;
    this.count = rest.count;
    this.newest = rest.newest;
    state.same = rest.same;
    for (const sha of rest.printed) this.printed.add(sha);
    for (const sha of rest.unknown) this.unknown.add(sha);
    state.unknown = this.unknown.size;
    this.lots.fetch(rest.near.lots);
    this.rounds.fetch(rest.near.rounds);
    for (const table of [this.crates, this.plantings, this.promises, this.problems, this.held, this.rows]) table.fetch();
    for (const lot of rest.near.lots) this.fetchPostings(lot);
    this.fetchRows();
    this.foldPrinted();
    this.fetchEntryPages(this.since(), state);
  }

  private fetchEntryPages(since: string, into: Pick<StockState, "checks" | "readings">): void {
    for (const act of this.makersOf("checks", since)) {
      const page = act.on >= since ? this.checkOf(act.sha256) : undefined;
      if (page !== undefined) into.checks[act.sha256] = page;
    }
    for (const act of this.makersOf("readings", since)) {
      if (act.kind !== "measured" || act.on < since) continue;
      for (const [key, page] of readingPages(act)) into.readings[key] = page;
    }
  }

  private fetchPostings(lot: string): void {
    const rows = this.postings.peek(lot);
    if (rows === undefined) return;
    for (const [key, row] of rows) this.state.postings[key] = row;
    this.notePosted(lot, rows);
  }

  private fetchRows(): void {
    for (const [key, page] of Object.entries(this.rows.pages)) {
      const at = key.indexOf(" ");
      (this.state.rows[key.slice(0, at)] ??= blankTable())[key.slice(at + 1)] = page;
    }
  }

  /** Counts the labels printed so far anew. */
  foldPrinted(): void {
    const printed = blankTable<number>();
    for (const sha of this.printed) {
      const { codes = [], copies = 1 } = this.index.act(sha)?.body ?? {};
      for (const code of codes) printed[code] = (printed[code] ?? 0) + copies;
    }
    this.state.printed = printed;
  }

  /** Everything as plain objects, also what is not in use; a copy that no later change reaches. */
  whole(): StockState {
    const postings = blankTable<Posting>();
    for (const lot of this.postings.keys()) {
      for (const [key, row] of this.postings.peek(lot) ?? []) postings[key] = row;
    }
    const [checks, readings] = [blankTable<Check>(), blankTable<Reading>()];
    this.fetchEntryPages("", { checks, readings });
    return { ...this.state, lots: this.lots.all(), rounds: this.rounds.all(), postings, checks, readings };
  }
}
