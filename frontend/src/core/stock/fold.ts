/**
 * The stock of a farm, folded from its feed: the same state for any order of delivery.
 *
 * Every lot, crate or row is worked out anew from its own entries whenever one of them
 * changes, so taking entries in one by one gives the same state as taking all of them at
 * once. What is derived is never read back as if it were a fact.
 */
import { Library, type Shelf } from "../shelf/library.ts";
import { ActIndex } from "./act-index.ts";
import { blankTable, sameAct, sumOf, type Act } from "./acts.ts";
import { CodeBook } from "./code-book.ts";
import { cratePage, packingBefore, toldOn, type CrateStory } from "./crates.ts";
import { compareKeys, type Entry, type OrderKey } from "./entries.ts";
import { isEqual } from "./equal.ts";
import { rankOf } from "./kinds.ts";
import { leftOf } from "./ledger.ts";
import { unitOf, varietyOf } from "./lineage.ts";
import { Living, mendBody } from "./living.ts";
import { readLot } from "./lots.ts";
import { plantingPage, roundPage, rowPage } from "./pages.ts";
import { NO_PROBLEMS, problem, type Found } from "./problems.ts";
import { promisePage, shortPromises } from "./promises.ts";
import { Tracer } from "./stays.ts";
import type { Posting, Problem, StockState } from "./state.ts";
import { Tables } from "./tables.ts";
import { ORDERS, partsOf, SAME, thingOf, type Thing } from "./things.ts";

/** What has to be read again. */
interface Dirty {
  acts: Set<string>;
  things: Set<Thing>;
  /** Those of the things from which others take something over. */
  passing: Set<Thing>;
  /** Crates that were packed, moved or emptied otherwise than was known, and from when on. */
  stirred: Map<string, OrderKey>;
}

/** Entries of these kinds change only what they name: nothing is taken over from them. */
const STAYS_BEHIND: ReadonlySet<string> = new Set([
  "checked", "counted", "gone_out", "promised", "labelled", "printed", "flagged", "measured", "noted",
  "curing_started", "curing_ended", "round_started", "round_ended", "field_set",
]);
const STIRRING: ReadonlySet<string> = new Set(["packed", "moved", "emptied"]);

/** How many entries, and how many objects, are held before they are packed. */
const ENTRIES_TO_SEAL = 5_000;
const OBJECTS_TO_SEAL = 150_000;
/** More segments than this hold too many outdated values. */
const MOST_SEGMENTS = 10;
/** Up to so many entries all pages are in use. */
const ENTRIES_IN_USE = 20_000;

/**
 * State and problems of one farm. Feed it entries with `apply`; read `state()`. Throws
 * nothing for any history: what contradicts itself becomes a problem.
 *
 * A farm of many winters does not fit a phone as objects: `seal` packs what was taken in since
 * the last time, and `new Fold(library)` goes on from what was packed as if nothing had been.
 */
export class Fold {
  readonly living: Living;
  readonly index: ActIndex;
  private readonly codeBook: CodeBook;
  private readonly tables: Tables;
  private readonly lotsOf: Shelf<Set<string>>;
  private readonly cratesOf: Shelf<Set<string>>;
  /** By what they were found in: an entry, an act, or a thing. */
  private readonly problemsOf: Record<"entry" | "act" | "thing", Shelf<Found>>;
  /** Of crates, up to the last entry by which they were read. */
  private readonly stories: Shelf<CrateStory>;
  private tracer = this.newTracer();

  constructor(readonly library = new Library(), room = ENTRIES_IN_USE) {
    this.living = new Living(library);
    this.index = new ActIndex(this.living, library, (thing, act) => this.forgetStory(thing, act));
    this.codeBook = new CodeBook(this.index, library);
    this.tables = new Tables(library, this.index, this.codeBook, room);
    this.lotsOf = library.shelf("lots by crate", SETS);
    this.cratesOf = library.shelf("crates by lot", SETS);
    this.stories = library.shelf("stories of crates");
    this.problemsOf = {
      entry: library.shelf("problems by entry", FOUND),
      act: library.shelf("problems by act", FOUND),
      thing: library.shelf("problems by thing", FOUND),
    };
    // Reading the pages in use made objects of much that nobody asked for.
    library.letGo();
    this.index.settle();
  }

  /**
   * Everything derived, as integers, strings, booleans and null; live, and read only. Lists hold
   * what is in use; what is not is there when asked for by key.
   */
  state(): StockState {
    return this.tables.state;
  }

  /** Whether everything is in use, so that every list is whole. */
  get isWhole(): boolean {
    return this.tables.isWhole;
  }

  /** The same with all that was ever in use; a copy, and costly with many winters. */
  whole(): StockState {
    return this.tables.whole();
  }

  /** What is posted to a lot, by key; also of lots that are not in use. */
  postingsOf(lot: string): ReadonlyMap<string, Posting> {
    return this.tables.postingsOf(lot);
  }

  // packing

  /** Whether so much was taken in or looked at that it should be packed. */
  get isFull(): boolean {
    return this.library.size > OBJECTS_TO_SEAL || this.living.entries.changedKeys().size > ENTRIES_TO_SEAL;
  }

  /** Packs what changed since the last time, and lets go of what is not in use. */
  seal(mostSegments = MOST_SEGMENTS): void {
    this.index.noteReadings();
    this.tables.note();
    this.library.seal();
    this.living.settle();
    this.index.settle();
    this.tables.settle();
    while (this.library.segments.length > mostSegments) this.library.merge(this.library.smallestPair());
  }

  // taking entries in

  /** Takes entries in: new ones, or known ones that got their number in the feed. */
  apply(entries: Iterable<Entry>): void {
    this.tracer = this.newTracer();
    const shas = new Set<string>();
    for (const entry of entries) {
      // How it counted until now is worked out from what was known until now.
      if (this.living.entries.has(entry.sha256)) this.index.act(entry.sha256);
      else this.tables.counted();
      this.living.add(entry, shas);
    }
    for (const sha of this.living.mendsUpward(shas)) this.setProblems("entry", sha, this.living.trouble(sha));
    const dirty: Dirty = { acts: new Set(), things: new Set(), passing: new Set(), stirred: new Map() };
    let printed = false;
    for (const sha of shas) printed = this.replaceAct(sha, dirty) || printed;
    this.refold(dirty);
    if (printed) this.tables.foldPrinted();
    this.foldHeld(shas);
    this.foldAccepted(shas);
  }

  /** Whether the labels printed so far may read differently. */
  private replaceAct(sha: string, dirty: Dirty): boolean {
    const old = this.index.act(sha);
    const now = this.living.act(sha);
    if (sameAct(old, now)) return false;
    dirty.acts.add(sha);
    const things = new Set<Thing>();
    if (old !== undefined) this.index.remove(old, things);
    if (now !== undefined) this.index.add(now, things);
    for (const thing of things) dirty.things.add(thing);
    for (const act of [old, now]) if (act !== undefined) stir(act, things, dirty);
    if (now !== undefined) this.tables.seen(now.on);
    if (now?.kind === "printed") this.tables.printed.add(sha);
    else this.tables.printed.delete(sha);
    return old?.kind === "printed" || now?.kind === "printed";
  }

  private newTracer(): Tracer {
    return new Tracer({
      actsOf: (lot) => this.index.of("lot", lot),
      packingOf: (crate, key) => packingBefore(this.storyOf(crate), key),
    });
  }

  // folding what changed

  private refold(dirty: Dirty): void {
    const { acts, things, passing, stirred } = dirty;
    this.foldCodes(dirty);
    if (things.has(SAME)) this.foldSame(dirty);
    for (const sha of acts) this.foldAct(sha);
    const crates = new Set<string>();
    const kin = new Set<Thing>();
    for (const thing of things) {
      const [sort, key] = partsOf(thing);
      if (sort === "round") this.tables.rounds.put(key, roundPage(this.index.ofThing(thing)));
      else if (sort === "lot" || sort === "planting") kin.add(thing);
      else if (sort === "crate") crates.add(key);
      else if (sort.startsWith("row:")) this.foldRow(sort.slice(4), key);
    }
    for (const thing of this.index.withDescendants([...passing].filter((one) => kin.has(one)))) kin.add(thing);
    for (const [crate, since] of stirred) this.addStirred(crate, since, kin);
    this.foldKin(kin, crates);
    this.foldPromises(things);
  }

  /**
   * The lots on whose stays it tells how the crate was packed, moved or emptied from a key on,
   * and what takes over stays from them: none whose own history ended before and is not in there.
   */
  private addStirred(crate: string, since: OrderKey, kin: Set<Thing>): void {
    const isLater = (thing: Thing): boolean => {
      const last = thing.startsWith("lot ") ? this.index.lastKey(thing) : null;
      return last !== null && compareKeys(last, since) >= 0;
    };
    const roots: Thing[] = [];
    for (const lot of this.everIn(crate)) {
      const thing = thingOf("lot", lot);
      const page = this.tables.lots.pages[lot];
      const inside = page === undefined || page.container === crate || page.stays.some((stay) => stay.crate === crate && stay.to === "");
      if (inside || isLater(thing)) roots.push(thing);
    }
    for (const thing of this.index.withDescendants(roots, isLater)) kin.add(thing);
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
    return new Set([...(this.lotsOf.get(crate) ?? []), ...this.index.everPlacedIn(crate)]);
  }

  private foldAct(sha: string): void {
    const act = this.index.act(sha);
    this.tables.putEntry(sha, act);
    this.setProblems("act", sha, act === undefined ? NO_PROBLEMS : actProblems(act));
  }

  private foldRow(table: string, row: string): void {
    this.tables.setRow(table, row, rowPage(this.index.of(`row:${table}`, row)));
  }

  private foldSame({ things, passing }: Dirty): void {
    const { state } = this.tables;
    const old = state.same;
    const same: StockState["same"] = blankTable();
    for (const { body } of this.index.ofThing(SAME)) {
      const { table = "", row = "" } = body;
      const into = body.into as unknown as string;
      if (sameRow(same, table, into) !== row) (same[table] ??= blankTable())[row] = into;
    }
    if (isEqual(same, old)) return;
    state.same = same;
    const moved = movedRows(old, same, "varieties");
    if (moved.size === 0) return;
    for (const [sort, key, variety] of this.tables.varieties()) {
      if (!moved.has(variety)) continue;
      things.add(thingOf(sort, key));
      passing.add(thingOf(sort, key));
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
    return sameRow(this.tables.state.same, "varieties", found);
  }

  /** The crate's story to its last entry: read on from where it stood, as long as nothing came before that. */
  private storyOf(crate: string): CrateStory {
    const known = this.stories.get(crate);
    const more = this.index.after(thingOf("crate", crate), known?.count ?? 0);
    if (known !== undefined && more.length === 0) return known;
    const story = toldOn(crate, known, more);
    this.stories.set(crate, story);
    return story;
  }

  /** A crate's story stands as long as nothing comes or goes before its end. */
  private forgetStory(thing: Thing, act: Act): void {
    const [sort, crate] = partsOf(thing);
    if (sort !== "crate") return;
    const upTo = this.stories.get(crate)?.upTo ?? null;
    if (upTo !== null && compareKeys(act.key, upTo) <= 0) this.stories.delete(crate);
  }

  /** Works the lot out anew; adds the crates whose contents that may change. */
  private foldLot(lot: string, crates: Set<string>): void {
    const acts = this.index.of("lot", lot);
    const before = this.cratesOf.get(lot) ?? new Set();
    for (const crate of before) {
      const inside = this.lotsOf.get(crate);
      if (inside?.delete(lot)) this.lotsOf.set(crate, inside);
    }
    this.cratesOf.delete(lot);
    if (acts.length === 0) {
      for (const crate of before) crates.add(crate);
      this.tables.lots.put(lot, undefined);
      this.tables.setPostings(lot, new Map());
      this.setProblems("thing", thingOf("lot", lot), NO_PROBLEMS);
      return;
    }
    const at = this.tracer.whereabouts(lot);
    const { page, rows, problems } = readLot(lot, acts, {
      variety: this.variety("lot", lot),
      unit: unitOf(this.index, lot),
      whereabouts: at,
      standings: (crate) => this.storyOf(crate).standings,
      emptyings: (crate) => this.storyOf(crate).emptyings,
      code: this.codeBook.codeOf("lot", lot),
      crateOfCode: (code) => this.codeBook.crateOfCode(code),
    });
    const isNew = this.tables.lots.put(lot, page);
    this.tables.setPostings(lot, rows);
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

  private foldCrate(crate: string): void {
    const story = this.storyOf(crate);
    const inside = [...(this.lotsOf.get(crate) ?? [])].filter((lot) => {
      const page = this.tables.lots.pages[lot];
      return page?.container === crate && page.balance !== 0;
    });
    const exists = story.count > 0 || inside.length > 0;
    const code = this.codeBook.codeOf("crate", crate);
    this.tables.crates.put(crate, exists ? cratePage(story, code, inside) : undefined);
  }

  private foldPlanting(planting: string): void {
    const acts = this.index.of("planting", planting);
    const own = acts.filter((act) => act.body.planting === planting);
    const variety = this.variety("planting", planting);
    const code = this.codeBook.codeOf("planting", planting);
    this.tables.plantings.put(planting, acts.length > 0 ? plantingPage(own, variety, code) : undefined);
  }

  private foldPromises(dirty: ReadonlySet<Thing>): void {
    const orders = this.index.ofThing(ORDERS);
    if (orders.length === 0 && !dirty.has(ORDERS)) return;
    const promised = new Map(orders.filter((act) => act.kind === "promised").map((act) => [act.sha256, act]));
    for (const sha of Object.keys(this.tables.promises.pages)) {
      if (!promised.has(sha)) this.tables.promises.put(sha, undefined);
    }
    const varietyOfLot = (lot: string): string => this.variety("lot", lot);
    for (const [sha, act] of promised) {
      const { lot, variety = "" } = act.body;
      const meant = lot ? varietyOfLot(lot) : sameRow(this.tables.state.same, "varieties", variety);
      this.tables.promises.put(sha, promisePage(act, meant));
    }
    this.setProblems("thing", ORDERS, shortPromises(this.tables.state, orders, varietyOfLot));
  }

  // entries set aside, problems

  private foldHeld(shas: Iterable<string>): void {
    const { held, unknown, state } = this.tables;
    for (const sha of shas) {
      const entry = this.living.entries.get(sha);
      if (entry === undefined) continue;
      held.put(sha, entry.held !== "" && this.index.act(sha) === undefined ? entry.held : undefined);
      if (entry.held === "" && rankOf(entry.kind) === undefined) unknown.add(sha);
      else unknown.delete(sha);
    }
    state.unknown = unknown.size;
  }

  private setProblems(sort: "entry" | "act" | "thing", owner: string, found: Found): void {
    const owners = this.problemsOf[sort];
    const old = owners.get(owner);
    if (old === undefined && found.size === 0) return;
    for (const key of old?.keys() ?? []) if (!found.has(key)) this.tables.problems.put(key, undefined);
    for (const [key, one] of found) this.tables.problems.put(key, { ...one, accepted: this.living.accepted(key) });
    if (found.size > 0) owners.set(owner, found);
    else owners.delete(owner);
  }

  /** A problem may have been accepted, or not any more. */
  private foldAccepted(shas: Iterable<string>): void {
    for (const sha of shas) {
      const entry = this.living.entries.get(sha);
      if (entry?.kind !== "problem_accepted") continue;
      const key = mendBody(entry).problem ?? "";
      const known = this.problem(key);
      if (known !== undefined) this.tables.problems.put(key, { ...known, accepted: this.living.accepted(key) });
    }
  }

  /** A problem as it stands now, with the hash of the entry that accepted it, if any. */
  problem(key: string): Problem | undefined {
    return this.tables.problems.pages[key];
  }
}

const SETS = { plain: (set: Set<string>): string[] => [...set], value: (keys: string[]): Set<string> => new Set(keys) };
const FOUND = {
  plain: (found: Found): [string, Problem][] => [...found],
  value: (found: [string, Problem][]): Found => new Map(found),
};

/** Notes what an act of this kind tells on beyond the things it names. */
function stir(act: Act, things: ReadonlySet<Thing>, { passing, stirred }: Dirty): void {
  const { kind, key } = act;
  if (!STAYS_BEHIND.has(kind)) for (const thing of things) passing.add(thing);
  if (!STIRRING.has(kind)) return;
  for (const thing of things) {
    if (!thing.startsWith("crate ")) continue;
    const crate = thing.slice("crate ".length);
    const known = stirred.get(crate);
    if (known === undefined || compareKeys(key, known) < 0) stirred.set(crate, key);
  }
}

/** The rows of a table that stood for another and do so no more, or not for the same. */
function movedRows(old: StockState["same"], now: StockState["same"], table: string): Set<string> {
  const rows = [old, now].flatMap((same) => Object.entries(same[table] ?? {}).flat());
  const moved = rows.filter((row) => sameRow(old, table, row) !== sameRow(now, table, row));
  return new Set(moved.map((row) => sameRow(old, table, row)));
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
