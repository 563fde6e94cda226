/**
 * Tables too large to be held as objects: most of each lies packed in segments, and only what
 * was asked for or changed lately is there as objects.
 *
 * A segment holds what changed since the one before; where two hold the same key, the later is
 * right. Segments are plain data that a database can keep. Nothing here waits for anything.
 */
import { hashOf, TextReader, TextWriter, type PackedTexts } from "./strings.ts";
import { ValueReader, ValueWriter } from "./values.ts";

/** Stands for a key that was taken out. */
const GONE = 0xffffffff;

/** Keys by the number of their text, ascending, and where each one's value begins. */
interface PackedTable {
  keys: Uint32Array;
  at: Uint32Array;
}

export interface Segment {
  texts: PackedTexts;
  values: Uint8Array;
  shapes: string[][];
  tables: Record<string, PackedTable>;
}

/** Bytes of a segment, near enough. */
export function sizeOf({ texts, values, tables }: Segment): number {
  let size = texts.bytes.length + texts.starts.byteLength + texts.slots.byteLength + texts.hashes.byteLength + values.length;
  for (const { keys } of Object.values(tables)) size += keys.byteLength * 2;
  return size;
}

class OpenSegment {
  private readonly texts: TextReader;
  private readonly values: ValueReader;

  constructor(readonly segment: Segment) {
    this.texts = new TextReader(segment.texts);
    this.values = new ValueReader(segment.values, segment.shapes, this.texts);
  }

  /** Where the value of a key begins; GONE, or -1 where this segment does not tell. */
  find(table: string, key: string, hash: number): number {
    const packed = this.segment.tables[table];
    if (packed === undefined) return -1;
    const number = this.texts.find(key, hash);
    if (number < 0) return -1;
    const { keys, at } = packed;
    let low = 0;
    let high = keys.length - 1;
    while (low <= high) {
      const middle = (low + high) >> 1;
      const found = keys[middle] ?? 0;
      if (found === number) return at[middle] ?? -1;
      if (found < number) low = middle + 1;
      else high = middle - 1;
    }
    return -1;
  }

  read(at: number): unknown {
    return this.values.read(at);
  }

  *rows(table: string): Generator<[key: string, at: number]> {
    const packed = this.segment.tables[table];
    if (packed === undefined) return;
    for (let i = 0; i < packed.keys.length; i += 1) {
      yield [this.texts.text(packed.keys[i] ?? 0), packed.at[i] ?? GONE];
    }
  }

  forget(): void {
    this.texts.forget();
  }
}

/** How values of a table become plain ones and back. */
export interface Coding<V> {
  plain: (value: V) => unknown;
  value: (plain: never) => V;
}

/** What a library wants of each of its tables. */
interface Packs {
  /** What changed: `undefined` for a key that was taken out. */
  changes(): Iterable<[key: string, plain: unknown]>;
  settle(): void;
  readonly size: number;
}

export class Library {
  private readonly tables = new Map<string, Packs>();
  private readonly trails = new Set<string>();
  private open: OpenSegment[];

  constructor(segments: readonly Segment[] = []) {
    this.open = segments.map((segment) => new OpenSegment(segment));
  }

  get segments(): Segment[] {
    return this.open.map(({ segment }) => segment);
  }

  /** How many values are there as objects. */
  get size(): number {
    let size = 0;
    for (const table of this.tables.values()) size += table.size;
    return size;
  }

  shelf<V>(name: string, coding?: Coding<V>): Shelf<V> {
    const shelf = new Shelf<V>(name, this, coding);
    this.tables.set(name, shelf);
    return shelf;
  }

  trail(name: string): Trail {
    const trail = new Trail(name, this);
    this.tables.set(name, trail);
    this.trails.add(name);
    return trail;
  }

  /** The newest value of a key, `undefined` where there is none. */
  newest(table: string, key: string): unknown {
    const hash = hashOf(key);
    for (let i = this.open.length - 1; i >= 0; i -= 1) {
      const segment = this.open[i] as OpenSegment;
      const at = segment.find(table, key, hash);
      if (at === GONE) return undefined;
      if (at >= 0) return segment.read(at);
    }
    return undefined;
  }

  has(table: string, key: string): boolean {
    const hash = hashOf(key);
    for (let i = this.open.length - 1; i >= 0; i -= 1) {
      const at = this.open[i]?.find(table, key, hash) ?? -1;
      if (at >= 0) return at !== GONE;
    }
    return false;
  }

  /** The values of a key in every segment, oldest first. */
  every(table: string, key: string): unknown[] {
    const hash = hashOf(key);
    const found: unknown[] = [];
    for (const segment of this.open) {
      const at = segment.find(table, key, hash);
      if (at >= 0 && at !== GONE) found.push(segment.read(at));
    }
    return found;
  }

  /** Every key that has a value. */
  keys(table: string): Set<string> {
    const found = new Set<string>();
    for (const segment of this.open) {
      for (const [key, at] of segment.rows(table)) {
        if (at === GONE) found.delete(key);
        else found.add(key);
      }
    }
    return found;
  }

  /** Packs what changed into one more segment and lets go of all objects; null when nothing changed. */
  seal(): Segment | null {
    const made = packed(this.changes(), this.open.length === 0);
    this.letGo();
    if (made !== null) this.open.push(new OpenSegment(made));
    return made;
  }

  /** Lets go of all objects; what changed since the last packing is forgotten. */
  letGo(): void {
    for (const table of this.tables.values()) table.settle();
    for (const segment of this.open) segment.forget();
  }

  private *changes(): Generator<[string, Iterable<[string, unknown]>]> {
    for (const [name, table] of this.tables) yield [name, table.changes()];
  }

  /** Makes one segment of the one at `i` and the next; answers it. */
  merge(i: number): Segment {
    const [first, second] = [this.open[i], this.open[i + 1]];
    if (first === undefined || second === undefined) throw new RangeError("there are no two segments to merge");
    const names = new Set([...Object.keys(first.segment.tables), ...Object.keys(second.segment.tables)]);
    const both = [...names].map((name): [string, Iterable<[string, unknown]>] => [
      name,
      this.trails.has(name) ? joined(name, first, second) : later(name, first, second),
    ]);
    const made = packed(both, i === 0) ?? emptySegment();
    this.open.splice(i, 2, new OpenSegment(made));
    return made;
  }

  /** Of neighbours the two that are least together. */
  smallestPair(): number {
    const sizes = this.open.map(({ segment }) => sizeOf(segment));
    let best = 0;
    const pair = (i: number): number => (sizes[i] ?? 0) + (sizes[i + 1] ?? 0);
    for (let i = 1; i + 1 < sizes.length; i += 1) if (pair(i) < pair(best)) best = i;
    return best;
  }
}

function* joined(name: string, first: OpenSegment, second: OpenSegment): Generator<[string, unknown]> {
  for (const [key, at] of first.rows(name)) {
    const more = second.find(name, key, hashOf(key));
    const own = first.read(at) as unknown[];
    yield [key, more < 0 ? own : [...own, ...(second.read(more) as unknown[])]];
  }
  for (const [key, at] of second.rows(name)) {
    if (first.find(name, key, hashOf(key)) < 0) yield [key, second.read(at)];
  }
}

function* later(name: string, first: OpenSegment, second: OpenSegment): Generator<[string, unknown]> {
  for (const [key, at] of first.rows(name)) {
    if (second.find(name, key, hashOf(key)) < 0) yield [key, at === GONE ? undefined : first.read(at)];
  }
  for (const [key, at] of second.rows(name)) yield [key, at === GONE ? undefined : second.read(at)];
}

/** `first`: nothing lies below it, so what was taken out need not be told. */
function packed(tables: Iterable<[string, Iterable<[string, unknown]>]>, first: boolean): Segment | null {
  const texts = new TextWriter();
  const values = new ValueWriter(texts);
  const found: Record<string, PackedTable> = {};
  for (const [name, rows] of tables) {
    const pairs: [number, number][] = [];
    for (const [key, plain] of rows) {
      if (plain === undefined && first) continue;
      pairs.push([texts.number(key), plain === undefined ? GONE : values.write(plain)]);
    }
    if (pairs.length === 0) continue;
    pairs.sort((a, b) => a[0] - b[0]);
    found[name] = { keys: Uint32Array.from(pairs, ([key]) => key), at: Uint32Array.from(pairs, ([, at]) => at) };
  }
  if (Object.keys(found).length === 0) return null;
  return { texts: texts.packed(), values: values.packed(), shapes: values.shapes, tables: found };
}

function emptySegment(): Segment {
  return { texts: new TextWriter().packed(), values: new Uint8Array(), shapes: [], tables: {} };
}

/**
 * A table like a Map. A value that is changed in place has to be told by `set`, or the change
 * is forgotten with the object.
 */
export class Shelf<V> implements Packs {
  private readonly near = new Map<string, V | undefined>();
  private readonly changed = new Set<string>();

  constructor(
    private readonly name: string,
    private readonly library: Library,
    private readonly coding?: Coding<V>,
  ) {}

  get(key: string): V | undefined {
    const near = this.near.get(key);
    if (near !== undefined || this.near.has(key)) return near;
    const value = this.peek(key);
    if (value !== undefined) this.near.set(key, value);
    return value;
  }

  /** The value, not kept as an object for the next who asks. */
  peek(key: string): V | undefined {
    const near = this.near.get(key);
    if (near !== undefined || this.near.has(key)) return near;
    const plain = this.library.newest(this.name, key);
    if (plain === undefined) return undefined;
    return this.coding ? this.coding.value(plain as never) : (plain as V);
  }

  has(key: string): boolean {
    return this.near.has(key) ? this.near.get(key) !== undefined : this.library.has(this.name, key);
  }

  set(key: string, value: V): void {
    this.near.set(key, value);
    this.changed.add(key);
  }

  delete(key: string): void {
    if (!this.has(key)) return;
    this.near.set(key, undefined);
    this.changed.add(key);
  }

  /** Whether the value was set since the last segment was packed. */
  isNew(key: string): boolean {
    return this.changed.has(key);
  }

  keys(): Set<string> {
    const keys = this.library.keys(this.name);
    for (const key of this.changed) {
      if (this.near.get(key) === undefined) keys.delete(key);
      else keys.add(key);
    }
    return keys;
  }

  /** The keys that were set or taken out since the last segment was packed. */
  changedKeys(): ReadonlySet<string> {
    return this.changed;
  }

  *changes(): Generator<[string, unknown]> {
    for (const key of this.changed) {
      const value = this.near.get(key);
      yield [key, value === undefined ? undefined : this.coding ? this.coding.plain(value) : value];
    }
  }

  settle(): void {
    this.near.clear();
    this.changed.clear();
  }

  get size(): number {
    return this.near.size;
  }
}

/** Lists of texts that only ever grow, each text once in the list of a key. */
export class Trail implements Packs {
  private readonly near = new Map<string, Set<string>>();
  private readonly added = new Map<string, string[]>();

  constructor(
    private readonly name: string,
    private readonly library: Library,
  ) {}

  get(key: string): ReadonlySet<string> | undefined {
    const near = this.near.get(key);
    if (near !== undefined) return near;
    const parts = this.library.every(this.name, key) as string[][];
    const added = this.added.get(key);
    if (parts.length === 0 && added === undefined) return undefined;
    const found = new Set([...parts.flat(), ...(added ?? [])]);
    this.near.set(key, found);
    return found;
  }

  has(key: string): boolean {
    return this.added.has(key) || this.library.has(this.name, key);
  }

  keys(): Set<string> {
    const keys = this.library.keys(this.name);
    for (const key of this.added.keys()) keys.add(key);
    return keys;
  }

  add(key: string, text: string): void {
    const known = this.near.get(key) ?? new Set(this.get(key));
    if (known.has(text)) return;
    this.near.set(key, known.add(text));
    this.append(key, text);
  }

  /** Adds a text without looking whether the list holds it: for lists too long to be made each time. */
  append(key: string, text: string): void {
    this.near.get(key)?.add(text);
    const added = this.added.get(key);
    if (added) added.push(text);
    else this.added.set(key, [text]);
  }

  changes(): Iterable<[string, unknown]> {
    return this.added;
  }

  settle(): void {
    this.near.clear();
    this.added.clear();
  }

  get size(): number {
    return this.near.size + this.added.size;
  }
}
