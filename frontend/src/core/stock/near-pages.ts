/**
 * The pages of one table: those in use as plain properties of an object, so that lists of them
 * cost nothing; the others are found when they are asked for by key.
 */
import type { Library, Shelf } from "../shelf/library.ts";
import { blankTable } from "./acts.ts";
import { isEqual } from "./equal.ts";

export interface FarPages<T> {
  get: (key: string) => T | undefined;
}

/** An empty table that asks `far` for what it does not hold itself. */
export function tableOver<T>(far: FarPages<T>): Record<string, T> {
  const behind = new Proxy(blankTable<T>(), {
    get: (_, key) => (typeof key === "string" ? far.get(key) : undefined),
    has: (_, key) => typeof key === "string" && far.get(key) !== undefined,
    set: (_, key, value, table: object) =>
      Reflect.defineProperty(table, key, { value, writable: true, enumerable: true, configurable: true }),
    ownKeys: () => [],
  });
  return Object.create(behind) as Record<string, T>;
}

export class NearPages<T> {
  readonly pages: Record<string, T>;
  private readonly shelf: Shelf<T>;

  /** `isNear`: whether a page stays an object when the others are let go. */
  constructor(
    name: string,
    library: Library,
    private readonly isNear: ((page: T, key: string) => boolean) | null = null,
  ) {
    this.shelf = library.shelf(`page of ${name}`);
    this.pages = tableOver(this.shelf);
  }

  /** True when the page was another one before. */
  put(key: string, page: T | undefined): boolean {
    const old = this.pages[key];
    const same = isEqual(old, page);
    if (page === undefined) delete this.pages[key];
    else if (!same || !Object.hasOwn(this.pages, key)) this.pages[key] = same ? (old as T) : page;
    if (same) return false;
    if (page === undefined) this.shelf.delete(key);
    else this.shelf.set(key, page);
    return true;
  }

  /** Lets go of the pages that are not in use; to be called when what changed is packed. */
  settle(): void {
    const { isNear } = this;
    if (isNear === null) return;
    for (const [key, page] of Object.entries(this.pages)) if (!isNear(page, key)) delete this.pages[key];
  }

  /** Keys of the pages that stay objects. */
  nearKeys(): string[] {
    const { isNear } = this;
    return Object.entries(this.pages).filter(([key, page]) => isNear === null || isNear(page, key)).map(([key]) => key);
  }

  /** Fetches these pages, or all of them. */
  fetch(keys: Iterable<string> = this.shelf.keys()): void {
    for (const key of keys) {
      const page = this.shelf.peek(key);
      if (page !== undefined) this.pages[key] = page;
    }
  }

  /** All pages, in a table of their own. */
  all(): Record<string, T> {
    const table = blankTable<T>();
    for (const key of this.shelf.keys()) {
      const page = this.shelf.peek(key);
      if (page !== undefined) table[key] = page;
    }
    return table;
  }
}
