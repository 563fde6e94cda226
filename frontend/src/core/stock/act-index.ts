/** The living entries of a farm, found by what they are about, in the order of its history. */
import type { Library, Shelf, Trail } from "../shelf/library.ts";
import type { Act } from "./acts.ts";
import { compareKeys, type OrderKey } from "./entries.ts";
import { placements } from "./facts.ts";
import { actFrom, plainReading, type Living, type Told } from "./living.ts";
import { kinshipOf, thingOf, thingsOf, type Thing } from "./things.ts";

const NOTHING: readonly Act[] = [];
const BUNDLE = 8;

/**
 * The hashes of acts in the order of the farm's history, as soon as somebody asks. Acts are
 * fetched when they are read: most lines are only written on.
 */
interface Line {
  thing: Thing;
  /** How many of the first lie in bundles of their own, so that a long line is not packed anew for one act more. */
  bundled: number;
  /** The others. */
  shas: string[];
  sorted: boolean;
  /** The last place in the order; only right while `sorted`. */
  last: OrderKey | null;
  acts: Act[] | null;
}

export class ActIndex {
  /** Acts that were asked for or changed; `undefined` for entries that do not count. */
  private readonly near = new Map<string, Act | undefined>();
  private readonly changed = new Set<string>();
  /** How an entry counts, where its own text does not say it. */
  private readonly told: Shelf<{ reading: Told | null }>;
  private readonly lines: Shelf<Line>;
  /** What acts are about beyond what they name themselves. */
  private readonly attached: Shelf<Set<Thing>>;
  private readonly children: Shelf<Map<Thing, number>>;
  private readonly bundles: Shelf<string[]>;
  /** Every lot that an entry ever put into the crate, also by entries that do not count any more. */
  private readonly placed: Trail;

  /** `moved` hears of every act that comes into the line of a thing or goes out of it. */
  constructor(
    private readonly living: Living,
    library: Library,
    private readonly moved: (thing: Thing, act: Act) => void,
  ) {
    this.told = library.shelf("readings of entries");
    this.lines = library.shelf("acts by thing", {
      plain: (line) => this.plainLine(this.inOrder(line)),
      value: (plain: Omit<Line, "sorted" | "acts">): Line => ({ ...plain, sorted: true, acts: null }),
    });
    // After the lines: packing those makes bundles.
    this.bundles = library.shelf("bundles of acts");
    this.placed = library.trail("lots placed in crate");
    this.attached = library.shelf("things attached", {
      plain: (things) => [...things],
      value: (things: Thing[]) => new Set(things),
    });
    this.children = library.shelf("children", {
      plain: (children) => [...children],
      value: (children: [Thing, number][]) => new Map(children),
    });
  }

  /** The entry as it counted when it was last taken in. */
  act(sha: string): Act | undefined {
    const near = this.near.get(sha);
    if (near !== undefined || this.near.has(sha)) return near;
    const act = this.recalled(sha);
    this.near.set(sha, act);
    return act;
  }

  /** An act from what was packed; an entry that came since then has none yet. */
  private recalled(sha: string): Act | undefined {
    if (this.living.entries.isNew(sha)) return undefined;
    const entry = this.living.entries.get(sha);
    if (entry === undefined) return undefined;
    const told = this.told.peek(sha);
    const reading = told === undefined ? plainReading(entry) : told.reading;
    return reading === null ? undefined : actFrom(entry, reading);
  }

  /** To be called before what changed is packed: writes down how entries count that do not say it themselves. */
  noteReadings(): void {
    for (const sha of new Set([...this.changed, ...this.living.entries.changedKeys()])) {
      if (this.living.isPlain(sha)) this.told.delete(sha);
      else this.told.set(sha, { reading: this.living.reading(sha) });
    }
  }

  /** To be called after it was packed. */
  settle(): void {
    this.near.clear();
    this.changed.clear();
  }

  /** In the order of the farm's history. */
  of(sort: string, key: string): readonly Act[] {
    return this.ofThing(thingOf(sort, key));
  }

  ofThing(thing: Thing): readonly Act[] {
    const line = this.lines.get(thing);
    return line === undefined ? NOTHING : this.read(this.inOrder(line));
  }

  /** Those after the first `count`, in the order of the farm's history. */
  after(thing: Thing, count: number): readonly Act[] {
    const line = this.lines.get(thing);
    if (line === undefined) return NOTHING;
    const { acts, shas, bundled } = this.inOrder(line);
    if (acts !== null) return acts.slice(count);
    return this.actsOf(count < bundled ? this.allOf(line).slice(count) : shas.slice(count - bundled));
  }

  private allOf({ thing, bundled, shas }: Line): string[] {
    const all: string[] = [];
    for (let at = 0; at < bundled; at += BUNDLE) all.push(...(this.bundles.get(`${thing} ${at}`) ?? []));
    return [...all, ...shas];
  }

  private plainLine({ thing, bundled, shas, last }: Line): Omit<Line, "sorted" | "acts"> {
    const whole = bundled + shas.length - ((bundled + shas.length) % BUNDLE);
    for (let at = bundled; at < whole; at += BUNDLE) {
      this.bundles.set(`${thing} ${at}`, shas.slice(at - bundled, at - bundled + BUNDLE));
    }
    return { thing, bundled: whole, shas: shas.slice(whole - bundled), last };
  }

  /** The place of the last act in the order. */
  lastKey(thing: Thing): OrderKey | null {
    const line = this.lines.get(thing);
    return line === undefined ? null : this.inOrder(line).last;
  }

  /** A superset of the lots that were ever put into a crate. */
  everPlacedIn(crate: string): ReadonlySet<string> {
    return this.placed.get(crate) ?? new Set();
  }

  private actsOf(shas: readonly string[]): Act[] {
    return shas.map((sha) => this.act(sha) as Act);
  }

  private read(line: Line): Act[] {
    return (line.acts ??= this.actsOf(this.allOf(line)));
  }

  private inOrder(line: Line): Line {
    if (line.sorted) return line;
    const acts = this.read(line).sort((a, b) => compareKeys(a.key, b.key));
    line.shas = acts.map((act) => act.sha256);
    line.bundled = 0;
    line.last = acts.at(-1)?.key ?? null;
    line.sorted = true;
    return line;
  }

  thingsAbout(act: Act): Set<Thing> {
    const things = thingsOf(act);
    for (const thing of this.attached.get(act.sha256) ?? []) things.add(thing);
    return things;
  }

  /** Adds what the act is about to `dirty`. */
  add(act: Act, dirty: Set<Thing>): void {
    this.set(act.sha256, act);
    for (const thing of thingsOf(act)) {
      this.link(act, thing);
      dirty.add(thing);
    }
    for (const [parent, child] of kinshipOf(act)) this.relate(parent, child, 1);
    for (const { lot, container } of placements(act)) if (container !== "") this.placed.append(container, lot);
  }

  /** Adds what the act was about to `dirty`. */
  remove(act: Act, dirty: Set<Thing>): void {
    for (const thing of this.thingsAbout(act)) {
      this.unlink(act, thing);
      dirty.add(thing);
    }
    this.set(act.sha256, undefined);
    this.attached.delete(act.sha256);
    for (const [parent, child] of kinshipOf(act)) this.relate(parent, child, -1);
  }

  private set(sha: string, act: Act | undefined): void {
    this.near.set(sha, act);
    this.changed.add(sha);
  }

  /** The act is about one thing more. */
  attach(act: Act, thing: Thing): void {
    const known = this.attached.get(act.sha256) ?? new Set();
    if (known.has(thing) || thingsOf(act).has(thing)) return;
    this.attached.set(act.sha256, known.add(thing));
    this.link(act, thing);
  }

  /** The act is not about this thing after all. */
  detach(act: Act, thing: Thing): void {
    const known = this.attached.get(act.sha256);
    if (!known?.delete(thing)) return;
    this.attached.set(act.sha256, known);
    this.unlink(act, thing);
  }

  /**
   * The things, and all that takes over something from them, and so on; of those that take
   * over only the ones that `follow` lets by.
   */
  withDescendants(things: Iterable<Thing>, follow: (thing: Thing) => boolean = () => true): Set<Thing> {
    const seen = new Set<Thing>();
    const todo = [...things];
    for (let one = todo.pop(); one !== undefined; one = todo.pop()) {
      if (seen.has(one)) continue;
      seen.add(one);
      for (const child of this.children.get(one)?.keys() ?? []) if (!seen.has(child) && follow(child)) todo.push(child);
    }
    return seen;
  }

  private link(act: Act, thing: Thing): void {
    this.moved(thing, act);
    const line = this.lines.get(thing) ?? { thing, bundled: 0, shas: [], sorted: true, last: null, acts: null };
    if (line.sorted && (line.last === null || compareKeys(line.last, act.key) < 0)) line.last = act.key;
    else {
      // What has to be sorted has to be read, and before an act in it is another one.
      this.read(line);
      line.sorted = false;
    }
    line.shas.push(act.sha256);
    line.acts?.push(act);
    this.lines.set(thing, line);
  }

  private unlink(act: Act, thing: Thing): void {
    this.moved(thing, act);
    const line = this.lines.get(thing);
    if (line === undefined) return;
    const acts = this.read(this.inOrder(line)).filter((one) => one.sha256 !== act.sha256);
    if (acts.length === 0) this.lines.delete(thing);
    else this.lines.set(thing, { thing, bundled: 0, acts, shas: acts.map((one) => one.sha256), sorted: true, last: acts.at(-1)?.key ?? null });
  }

  private relate(parent: Thing, child: Thing, by: number): void {
    const children = this.children.get(parent) ?? new Map<Thing, number>();
    const count = (children.get(child) ?? 0) + by;
    if (count > 0) children.set(child, count);
    else children.delete(child);
    this.children.set(parent, children);
  }
}
