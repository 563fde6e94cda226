/**
 * Ends the program at a chosen step of its work with the database, as a phone does
 * when it runs out of power: open transactions are aborted, nothing works from then on.
 * A step is each call of the database and each answer of it, before the program sees it.
 */
import { FDBDatabase, FDBFactory, FDBIndex, FDBObjectStore } from "./fake.ts";

export class Killed extends Error {
  constructor() {
    super("killed");
    this.name = "Killed";
  }
}

type Method = (...args: unknown[]) => unknown;

export class Killer {
  step = 0;
  dead = false;
  /** Resolves when the program ends; it may then wait for ever for an answer. */
  death: Promise<void> = Promise.resolve();
  private die: () => void = () => undefined;
  private at = Infinity;
  private readonly open = new Set<IDBTransaction>();
  private readonly undo: (() => void)[] = [];

  /** Watches the database until `remove`. */
  install(): void {
    const calls = ["put", "add", "get", "getAll", "getAllKeys", "openCursor", "count", "delete"];
    for (const name of calls) this.patch(FDBObjectStore.prototype, name);
    for (const name of ["get", "getAll", "getAllKeys", "openCursor", "count"]) this.patch(FDBIndex.prototype, name);
    this.patch(FDBFactory.prototype, "open");
    this.patch(FDBDatabase.prototype, "transaction", (made) => {
      const transaction = made as IDBTransaction;
      this.open.add(transaction);
      transaction.addEventListener("complete", () => this.open.delete(transaction));
    });
  }

  remove(): void {
    for (const put of this.undo.splice(0)) put();
  }

  /** The next life ends at this step, counted from now. */
  arm(at: number): void {
    this.step = 0;
    this.dead = false;
    this.at = at;
    this.open.clear();
    this.death = new Promise((resolve) => {
      this.die = resolve;
    });
  }

  disarm(): void {
    this.arm(Infinity);
  }

  /** Passes one step; throws Killed when it is the last, and ever after. */
  tick(): void {
    if (this.dead) throw new Killed();
    this.step += 1;
    if (this.step < this.at) return;
    this.dead = true;
    this.die();
    for (const transaction of this.open) {
      try {
        transaction.abort();
      } catch {
        // It had ended already.
      }
    }
    throw new Killed();
  }

  private patch(target: object, name: string, made: (value: unknown) => void = () => undefined): void {
    const methods = target as Record<string, Method>;
    const original = methods[name];
    if (!original) throw new Error(`there is no ${name} to watch`);
    const tick = (): void => this.tick();
    methods[name] = function watched(this: unknown, ...args: unknown[]) {
      // The database's own work while it is being opened is no step of the program.
      if (args[1] !== "versionchange") tick();
      const value = original.apply(this, args);
      made(value);
      if (value instanceof EventTarget || hasEvents(value)) {
        const request = value as IDBRequest;
        request.addEventListener("success", () => {
          try {
            tick();
          } catch {
            // The program is gone; nobody hears the answer.
          }
        });
      }
      return value;
    };
    this.undo.push(() => {
      methods[name] = original;
    });
  }
}

function hasEvents(value: unknown): boolean {
  return typeof value === "object" && value !== null && "onsuccess" in value;
}
