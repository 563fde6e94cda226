/** A Dexie database that survives a dropped connection and gives way to a newer build. */
import Dexie from "dexie";
import { isFull, isLost, NotStored, StorageFull, StoreClosed } from "./failures.ts";

export interface DexieSeams {
  indexedDB?: IDBFactory;
  IDBKeyRange?: typeof IDBKeyRange;
}

/** `chromeTransactionDurability` becomes the transaction's `durability` in every browser that has it. */
export function dexie(name: string, seams: DexieSeams): Dexie {
  return new Dexie(name, { ...seams, chromeTransactionDurability: "strict", autoOpen: true });
}

export class Connection {
  private gone = false;

  constructor(
    readonly db: Dexie,
    private readonly onGone: () => void = () => undefined,
  ) {
    db.on("versionchange", () => {
      this.close();
      this.onGone();
    });
  }

  get closed(): boolean {
    return this.gone;
  }

  close(): void {
    this.gone = true;
    this.db.close({ disableAutoOpen: true });
  }

  /**
   * The answer of `act`. When the connection was lost it is opened again and `act`
   * asked once more, unless `alreadyDone` finds its work in the database.
   */
  async run<T>(act: () => PromiseLike<T>, alreadyDone?: () => PromiseLike<T | undefined>): Promise<T> {
    try {
      return await this.once(act);
    } catch (error) {
      if (!isLost(error) || this.gone) throw this.told(error);
    }
    try {
      this.db.close({ disableAutoOpen: false });
      await this.db.open();
      const done = alreadyDone ? await alreadyDone() : undefined;
      return done ?? (await this.once(act));
    } catch (error) {
      throw this.told(error);
    }
  }

  private async once<T>(act: () => PromiseLike<T>): Promise<T> {
    if (this.gone) throw new StoreClosed();
    return await act();
  }

  private told(error: unknown): unknown {
    if (this.gone) return new StoreClosed();
    if (isFull(error)) return new StorageFull(error);
    return isLost(error) ? new NotStored(error) : error;
  }
}
