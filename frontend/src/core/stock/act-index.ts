/** The living entries of a farm, found by what they are about, in the order of its history. */
import type { Act } from "./acts.ts";
import { compareKeys } from "./entries.ts";
import { kinshipOf, thingOf, thingsOf, type Thing } from "./things.ts";

const NOTHING: readonly Act[] = [];

/** In the order of the farm's history, as soon as somebody asks. */
interface Line {
  acts: Act[];
  sorted: boolean;
}

export class ActIndex {
  readonly acts = new Map<string, Act>();
  private readonly lines = new Map<Thing, Line>();
  /** What acts are about beyond what they name themselves. */
  private readonly attached = new Map<string, Set<Thing>>();
  private readonly children = new Map<Thing, Map<Thing, number>>();

  /** In the order of the farm's history. */
  of(sort: string, key: string): readonly Act[] {
    return this.ofThing(thingOf(sort, key));
  }

  ofThing(thing: Thing): readonly Act[] {
    const line = this.lines.get(thing);
    if (line === undefined) return NOTHING;
    if (!line.sorted) {
      line.acts.sort((a, b) => compareKeys(a.key, b.key));
      line.sorted = true;
    }
    return line.acts;
  }

  /** Things that some entry is about. */
  allThings(): Iterable<Thing> {
    return this.lines.keys();
  }

  thingsAbout(act: Act): Set<Thing> {
    const things = thingsOf(act);
    for (const thing of this.attached.get(act.sha256) ?? []) things.add(thing);
    return things;
  }

  /** Adds what the act is about to `dirty`. */
  add(act: Act, dirty: Set<Thing>): void {
    this.acts.set(act.sha256, act);
    for (const thing of thingsOf(act)) {
      this.link(act, thing);
      dirty.add(thing);
    }
    for (const [parent, child] of kinshipOf(act)) this.relate(parent, child, 1);
  }

  /** Adds what the act was about to `dirty`. */
  remove(act: Act, dirty: Set<Thing>): void {
    this.acts.delete(act.sha256);
    for (const thing of this.thingsAbout(act)) {
      this.unlink(act, thing);
      dirty.add(thing);
    }
    this.attached.delete(act.sha256);
    for (const [parent, child] of kinshipOf(act)) this.relate(parent, child, -1);
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
    if (this.attached.get(act.sha256)?.delete(thing)) this.unlink(act, thing);
  }

  /** The things, and all that takes over something from them, and so on. */
  withDescendants(things: Iterable<Thing>): Set<Thing> {
    const seen = new Set<Thing>();
    const todo = [...things];
    for (let one = todo.pop(); one !== undefined; one = todo.pop()) {
      if (seen.has(one)) continue;
      seen.add(one);
      const children = this.children.get(one);
      if (children) todo.push(...children.keys());
    }
    return seen;
  }

  private link(act: Act, thing: Thing): void {
    const line = this.lines.get(thing);
    if (line === undefined) {
      this.lines.set(thing, { acts: [act], sorted: true });
      return;
    }
    const last = line.acts.at(-1);
    line.sorted &&= last === undefined || compareKeys(last.key, act.key) < 0;
    line.acts.push(act);
  }

  private unlink(act: Act, thing: Thing): void {
    const line = this.lines.get(thing);
    if (line === undefined) return;
    line.acts = line.acts.filter((one) => one.sha256 !== act.sha256);
    if (line.acts.length === 0) this.lines.delete(thing);
  }

  private relate(parent: Thing, child: Thing, by: number): void {
    const children = this.children.get(parent) ?? new Map<Thing, number>();
    this.children.set(parent, children);
    const count = (children.get(child) ?? 0) + by;
    if (count > 0) children.set(child, count);
    else children.delete(child);
  }
}
