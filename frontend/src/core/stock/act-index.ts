/** The living entries of a farm, found by what they are about, in the order of its history. */
import type { Act } from "./acts.ts";
import { compareKeys } from "./entries.ts";
import { kinshipOf, thingOf, thingsOf, type Thing } from "./things.ts";

const NOTHING: readonly Act[] = [];

export class ActIndex {
  readonly acts = new Map<string, Act>();
  private readonly shasOf = new Map<Thing, Set<string>>();
  private readonly sorted = new Map<Thing, Act[]>();
  private readonly things = new Map<string, Set<Thing>>();
  private readonly children = new Map<Thing, Map<Thing, number>>();

  /** In the order of the farm's history. */
  of(sort: string, key: string): readonly Act[] {
    return this.ofThing(thingOf(sort, key));
  }

  ofThing(thing: Thing): readonly Act[] {
    const known = this.sorted.get(thing);
    if (known) return known;
    const shas = this.shasOf.get(thing);
    if (shas === undefined || shas.size === 0) return NOTHING;
    const found: Act[] = [];
    for (const sha of shas) {
      const act = this.acts.get(sha);
      if (act) found.push(act);
    }
    found.sort((a, b) => compareKeys(a.key, b.key));
    this.sorted.set(thing, found);
    return found;
  }

  /** Things that some entry is about. */
  allThings(): Iterable<Thing> {
    return this.shasOf.keys();
  }

  thingsAbout(sha: string): ReadonlySet<Thing> {
    return this.things.get(sha) ?? new Set();
  }

  /** Returns what the act is about. */
  add(act: Act): Set<Thing> {
    const things = thingsOf(act);
    this.acts.set(act.sha256, act);
    this.things.set(act.sha256, things);
    for (const thing of things) this.link(act.sha256, thing);
    for (const [parent, child] of kinshipOf(act)) this.relate(parent, child, 1);
    return new Set(things);
  }

  /** Returns what the act was about. */
  remove(act: Act): Set<Thing> {
    const things = this.things.get(act.sha256) ?? new Set<Thing>();
    this.acts.delete(act.sha256);
    this.things.delete(act.sha256);
    for (const thing of things) this.unlink(act.sha256, thing);
    for (const [parent, child] of kinshipOf(act)) this.relate(parent, child, -1);
    return things;
  }

  /** The act is about one thing more. */
  attach(sha: string, thing: Thing): void {
    this.things.get(sha)?.add(thing);
    this.link(sha, thing);
  }

  /** The act is not about this thing after all. */
  detach(sha: string, thing: Thing): void {
    if (this.things.get(sha)?.delete(thing)) this.unlink(sha, thing);
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

  private link(sha: string, thing: Thing): void {
    const known = this.shasOf.get(thing);
    if (known) known.add(sha);
    else this.shasOf.set(thing, new Set([sha]));
    this.sorted.delete(thing);
  }

  private unlink(sha: string, thing: Thing): void {
    const known = this.shasOf.get(thing);
    known?.delete(sha);
    if (known?.size === 0) this.shasOf.delete(thing);
    this.sorted.delete(thing);
  }

  private relate(parent: Thing, child: Thing, by: number): void {
    const children = this.children.get(parent) ?? new Map<Thing, number>();
    this.children.set(parent, children);
    const count = (children.get(child) ?? 0) + by;
    if (count > 0) children.set(child, count);
    else children.delete(child);
  }
}
