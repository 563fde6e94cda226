/**
 * The stock of a farm, folded from its feed: the same state for any order of delivery.
 *
 * Every lot, crate or row is worked out anew from its own entries whenever one of them
 * changes, so taking entries in one by one gives the same state as taking all of them at
 * once. What is derived is never read back as if it were a fact.
 */
import { ActIndex } from "./act-index.ts";
import { blankTable, sameAct, sumOf, type Act } from "./acts.ts";
import { CodeBook } from "./code-book.ts";
import { cratePage, packingBefore, standings, type Standing } from "./crates.ts";
import type { Entry } from "./entries.ts";
import { isEqual } from "./equal.ts";
import { placements } from "./facts.ts";
import { rankOf } from "./kinds.ts";
import { leftOf } from "./ledger.ts";
import { unitOf, varietyOf } from "./lineage.ts";
import { Living, mendBody } from "./living.ts";
import { readLot } from "./lots.ts";
import { checkPage, plantingPage, readingPages, roundPage, rowPage } from "./pages.ts";
import { NO_PROBLEMS, problem, type Found } from "./problems.ts";
import { promisePage, shortPromises } from "./promises.ts";
import { Tracer } from "./stays.ts";
import type { Posting, Problem, StockState } from "./state.ts";
import { ORDERS, partsOf, SAME, thingOf, type Thing } from "./things.ts";

/** Acts, and things some act is about, to be read again. */
interface Dirty {
  acts: Set<string>;
  things: Set<Thing>;
}

/**
 * State and problems of one farm. Feed it entries with `apply`; read `state()`. Throws
 * nothing for any history: what contradicts itself becomes a problem.
 */
export class Fold {
  readonly living = new Living();
  readonly index = new ActIndex();
  private readonly codeBook = new CodeBook(this.index);
  private readonly tables = blankState();
  private readonly lotsOf = new Map<string, Set<string>>();
  private readonly cratesOf = new Map<string, Set<string>>();
  private readonly postingsOf = new Map<string, string[]>();
  /** By what they were found in: an entry, an act, or a thing. */
  private readonly problemsOf = {
    entry: new Map<string, Found>(),
    act: new Map<string, Found>(),
    thing: new Map<Thing, Found>(),
  };
  private readonly unknown = new Set<string>();
  private standing = new Map<string, Standing[]>();
  private tracer = this.newTracer();

  constructor() {
    this.tables.codes = this.codeBook.codes;
  }

  /** Everything derived, as integers, strings, booleans and null; live, and read only. */
  state(): StockState {
    return this.tables;
  }

  // taking entries in

  /** Takes entries in: new ones, or known ones that got their number in the feed. */
  apply(entries: Iterable<Entry>): void {
    this.tracer = this.newTracer();
    this.standing = new Map();
    const shas = new Set<string>();
    for (const entry of entries) this.living.add(entry, shas);
    for (const sha of this.living.mendsUpward(shas)) this.setProblems("entry", sha, this.living.trouble(sha));
    const dirty: Dirty = { acts: new Set(), things: new Set() };
    let printed = false;
    for (const sha of shas) printed = this.replaceAct(sha, dirty) || printed;
    this.refold(dirty);
    if (printed) this.foldPrinted();
    this.foldHeld(shas);
    this.foldAccepted(shas);
  }

  /** Whether the labels printed so far may read differently. */
  private replaceAct(sha: string, dirty: Dirty): boolean {
    const old = this.index.acts.get(sha);
    const now = this.living.act(sha);
    if (sameAct(old, now)) return false;
    dirty.acts.add(sha);
    if (old !== undefined) this.index.remove(old, dirty.things);
    if (now !== undefined) this.index.add(now, dirty.things);
    return old?.kind === "printed" || now?.kind === "printed";
  }

  private newTracer(): Tracer {
    return new Tracer({
      actsOf: (lot) => this.index.of("lot", lot),
      packingOf: (crate, key) => packingBefore(crate, this.index.of("crate", crate), key),
    });
  }

  // folding what changed

  private refold(dirty: Dirty): void {
    const { acts, things } = dirty;
    this.foldCodes(dirty);
    if (things.has(SAME)) this.foldSame(things);
    for (const sha of acts) this.foldAct(sha);
    const crates = new Set<string>();
    const roots = new Set<Thing>();
    for (const thing of things) {
      const [sort, key] = partsOf(thing);
      if (sort === "round") this.put("rounds", key, roundPage(this.index.ofThing(thing)));
      else if (sort === "lot" || sort === "planting") roots.add(thing);
      else if (sort === "crate") crates.add(key);
      else if (sort.startsWith("row:")) this.foldRow(sort.slice(4), key);
    }
    for (const crate of crates) for (const lot of this.everIn(crate)) roots.add(thingOf("lot", lot));
    this.foldKin(this.index.withDescendants(roots), crates);
    this.foldPromises(things);
  }

  private foldKin(kin: ReadonlySet<Thing>, crates: Set<string>): void {
    const plantings: string[] = [];
    for (const thing of kin) {
      const [sort, key] = partsOf(thing);
      if (sort === "lot") this.foldLot(key, crates);
      else plantings.push(key);
    }
    for (const crate of crates) this.foldCrate(crate);
    for (const planting of plantings) this.foldPlanting(planting);
  }

  private everIn(crate: string): Set<string> {
    const lots = new Set(this.lotsOf.get(crate));
    for (const act of this.index.of("crate", crate)) {
      for (const { lot, container } of placements(act)) if (container === crate) lots.add(lot);
    }
    return lots;
  }

  private foldAct(sha: string): void {
    const act = this.index.acts.get(sha);
    const check = act?.kind === "checked" ? checkPage(act, this.codeBook.crateOf(act)) : undefined;
    this.put("checks", sha, check);
    const readings = act?.kind === "measured" ? readingPages(act) : undefined;
    if (readings !== undefined || this.tables.readings[`${sha}:0`] !== undefined) {
      for (let i = 0; i < 24; i += 1) this.put("readings", `${sha}:${i}`, readings?.get(`${sha}:${i}`));
    }
    this.setProblems("act", sha, act === undefined ? NO_PROBLEMS : actProblems(act));
  }

  private foldRow(table: string, row: string): void {
    const page = rowPage(this.index.of(`row:${table}`, row));
    const rows = (this.tables.rows[table] ??= blankTable());
    if (page === undefined) delete rows[row];
    else rows[row] = page;
    if (Object.keys(rows).length === 0) delete this.tables.rows[table];
  }

  private foldSame(dirty: Set<Thing>): void {
    const same: StockState["same"] = blankTable();
    for (const { body } of this.index.ofThing(SAME)) {
      const { table = "", row = "" } = body;
      const into = body.into as unknown as string;
      if (sameRow(same, table, into) !== row) (same[table] ??= blankTable())[row] = into;
    }
    if (isEqual(same, this.tables.same)) return;
    this.tables.same = same;
    for (const thing of this.index.allThings()) {
      if (thing.startsWith("lot ") || thing.startsWith("planting ")) dirty.add(thing);
    }
  }

  private foldCodes({ acts, things }: Dirty): void {
    const again = new Set<Thing>();
    for (const thing of things) {
      const [sort, code] = partsOf(thing);
      if (sort === "code") this.setProblems("thing", thing, this.codeBook.fold(code, again, acts));
    }
    for (const thing of again) things.add(thing);
  }

  // lots, crates, plantings

  private variety(sort: string, key: string): string {
    const found = varietyOf(this.index, sort, key);
    return sameRow(this.tables.same, "varieties", found);
  }

  private standingsOf(crate: string): readonly Standing[] {
    const known = this.standing.get(crate);
    if (known) return known;
    const found = standings(crate, this.index.of("crate", crate));
    this.standing.set(crate, found);
    return found;
  }

  /** Works the lot out anew; adds the crates whose contents that may change. */
  private foldLot(lot: string, crates: Set<string>): void {
    const acts = this.index.of("lot", lot);
    const before = this.cratesOf.get(lot) ?? new Set();
    for (const crate of before) this.lotsOf.get(crate)?.delete(lot);
    this.cratesOf.delete(lot);
    if (acts.length === 0) {
      for (const crate of before) crates.add(crate);
      this.put("lots", lot, undefined);
      this.setPostings(lot, new Map());
      this.setProblems("thing", thingOf("lot", lot), NO_PROBLEMS);
      return;
    }
    const at = this.tracer.whereabouts(lot);
    const { page, rows, problems } = readLot(lot, acts, {
      variety: this.variety("lot", lot),
      unit: unitOf(this.index, lot),
      whereabouts: at,
      standings: (crate) => this.standingsOf(crate),
      emptyings: (crate) => this.index.of("crate", crate).filter((act) => act.kind === "emptied"),
      code: this.codeBook.codeOf("lot", lot),
      crateOfCode: (code) => this.codeBook.crateOfCode(code),
    });
    const isNew = this.put("lots", lot, page);
    this.setPostings(lot, rows);
    this.setProblems("thing", thingOf("lot", lot), problems);
    const now = new Set([at.container, ...at.stays.map((stay) => stay.crate)]);
    now.delete("");
    this.cratesOf.set(lot, now);
    for (const crate of now) {
      const inside = this.lotsOf.get(crate) ?? new Set();
      this.lotsOf.set(crate, inside.add(lot));
    }
    if (isNew) for (const crate of [...before, ...now]) crates.add(crate);
  }

  private setPostings(lot: string, rows: ReadonlyMap<string, Posting>): void {
    for (const key of this.postingsOf.get(lot) ?? []) {
      if (!rows.has(key) && this.tables.postings[key]?.lot === lot) this.put("postings", key, undefined);
    }
    for (const [key, row] of rows) this.put("postings", key, row);
    this.postingsOf.set(lot, [...rows.keys()]);
  }

  private foldCrate(crate: string): void {
    const acts = this.index.of("crate", crate);
    const inside = [...(this.lotsOf.get(crate) ?? [])].filter((lot) => {
      const page = this.tables.lots[lot];
      return page?.container === crate && page.balance !== 0;
    });
    const exists = acts.length > 0 || inside.length > 0;
    const code = this.codeBook.codeOf("crate", crate);
    this.put("crates", crate, exists ? cratePage(crate, acts, code, inside) : undefined);
  }

  private foldPlanting(planting: string): void {
    const acts = this.index.of("planting", planting);
    const own = acts.filter((act) => act.body.planting === planting);
    const variety = this.variety("planting", planting);
    const code = this.codeBook.codeOf("planting", planting);
    this.put("plantings", planting, acts.length > 0 ? plantingPage(own, variety, code) : undefined);
  }

  private foldPromises(dirty: ReadonlySet<Thing>): void {
    const orders = this.index.ofThing(ORDERS);
    if (orders.length === 0 && !dirty.has(ORDERS)) return;
    const promised = new Map(orders.filter((act) => act.kind === "promised").map((act) => [act.sha256, act]));
    for (const sha of Object.keys(this.tables.promises)) {
      if (!promised.has(sha)) this.put("promises", sha, undefined);
    }
    const varietyOfLot = (lot: string): string => this.variety("lot", lot);
    for (const [sha, act] of promised) {
      const { lot, variety = "" } = act.body;
      const meant = lot ? varietyOfLot(lot) : sameRow(this.tables.same, "varieties", variety);
      this.put("promises", sha, promisePage(act, meant));
    }
    this.setProblems("thing", ORDERS, shortPromises(this.tables, orders, varietyOfLot));
  }

  // labels printed, entries set aside, problems

  private foldPrinted(): void {
    const printed = blankTable<number>();
    for (const { kind, body } of this.index.acts.values()) {
      if (kind !== "printed") continue;
      for (const code of body.codes ?? []) printed[code] = (printed[code] ?? 0) + (body.copies ?? 1);
    }
    this.tables.printed = printed;
  }

  private foldHeld(shas: Iterable<string>): void {
    for (const sha of shas) {
      const entry = this.living.entries.get(sha);
      if (entry === undefined) continue;
      if (entry.held !== "" && !this.index.acts.has(sha)) this.tables.held[sha] = entry.held;
      else if (this.tables.held[sha] !== undefined) delete this.tables.held[sha];
      if (entry.held === "" && rankOf(entry.kind) === undefined) this.unknown.add(sha);
      else this.unknown.delete(sha);
    }
    this.tables.unknown = this.unknown.size;
  }

  private setProblems(sort: "entry" | "act" | "thing", owner: string, found: Found): void {
    const owners = this.problemsOf[sort];
    const old = owners.get(owner);
    if (old === undefined && found.size === 0) return;
    for (const key of old?.keys() ?? []) if (!found.has(key)) delete this.tables.problems[key];
    for (const [key, one] of found) {
      const now = { ...one, accepted: this.living.accepted(key) };
      if (!isEqual(this.tables.problems[key], now)) this.tables.problems[key] = now;
    }
    if (found.size > 0) owners.set(owner, found);
    else owners.delete(owner);
  }

  /** A problem may have been accepted, or not any more. */
  private foldAccepted(shas: Iterable<string>): void {
    for (const sha of shas) {
      const entry = this.living.entries.get(sha);
      if (entry?.kind !== "problem_accepted") continue;
      const key = mendBody(entry).problem ?? "";
      const known = this.tables.problems[key];
      if (known === undefined) continue;
      this.tables.problems[key] = { ...known, accepted: this.living.accepted(key) };
    }
  }

  /** A problem as it stands now, with the hash of the entry that accepted it, if any. */
  problem(key: string): Problem | undefined {
    return this.tables.problems[key];
  }

  private put<T extends PageTable>(table: T, key: string, page: StockState[T][string] | undefined): boolean {
    const pages = this.tables[table] as Record<string, StockState[T][string]>;
    if (isEqual(pages[key], page)) return false;
    if (page === undefined) delete pages[key];
    else pages[key] = page;
    return true;
  }
}

type PageTable =
  | "lots" | "crates" | "postings" | "checks" | "readings" | "rounds" | "plantings" | "promises";

function blankState(): StockState {
  return {
    lots: blankTable(), crates: blankTable(), rows: blankTable(), same: blankTable(),
    codes: blankTable(), postings: blankTable(), checks: blankTable(), readings: blankTable(),
    rounds: blankTable(), plantings: blankTable(), promises: blankTable(), printed: blankTable(),
    problems: blankTable(), held: blankTable(), unknown: 0,
  };
}

/** The row that stands for a row after all that was said to be one. */
export function sameRow(same: StockState["same"], table: string, row: string): string {
  const into = same[table];
  if (into === undefined) return row;
  const seen = new Set([row]);
  let at = row;
  for (let next = into[at]; next !== undefined && !seen.has(next); next = into[at]) {
    at = next;
    seen.add(at);
  }
  return at;
}

function actProblems(act: Act): Found {
  const { sha256, body, kind } = act;
  if (!act.clamped && kind !== "split" && kind !== "checked") return NO_PROBLEMS;
  const found = new Map<string, Problem>();
  if (act.clamped) {
    const parts = { outs: ["correct", "accept"], facts: { on: act.on } };
    found.set(`date_clamped:${sha256}`, problem("date_clamped", [sha256], parts));
  }
  if (kind === "split") {
    const taken = (body.from ?? []).reduce((sum, line) => sum + leftOf(line), 0);
    const given = (body.into ?? []).reduce((sum, line) => sum + line.count, 0);
    const parts = { outs: ["correct", "accept"], facts: { taken, given } };
    if (taken !== given) found.set(`sums_differ:${sha256}`, problem("sums_differ", [sha256], parts));
  }
  if (kind === "checked" && Object.keys(body.unassigned ?? {}).length > 0) {
    const outs = (body.lines ?? []).length > 0 ? ["correct", "accept"] : ["accept"];
    const parts = { outs, facts: { count: sumOf(body.unassigned) } };
    found.set(`unassigned_loss:${sha256}`, problem("unassigned_loss", [sha256], parts));
  }
  return found;
}
