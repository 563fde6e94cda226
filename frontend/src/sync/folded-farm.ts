/**
 * What the rows of the store say, folded: read back from what was kept of it, and brought up to
 * the last row. Whatever is kept is only a way to start sooner: it is made anew from the rows
 * where it is missing, of another history or of another way of folding.
 */
import { Library, type Segment } from "../core/shelf/library.ts";
import { entryFrom } from "../core/stock/entries.ts";
import { Fold } from "../core/stock/fold.ts";
import type { FarmStore } from "../store/farm-store.ts";
import type { RecordRow } from "../store/rows.ts";
import { LedgerView } from "./ledger-view.ts";

const KEEP_AFTER = 300;

/** Rows folded so far, of those there are to fold. */
export interface Reading {
  done: number;
  total: number;
}

interface Parts {
  store: FarmStore;
  /** Names the way of folding. */
  format: string;
  /** Told while much is read; null at the end. */
  progress: (reading: Reading | null) => void;
  closed: () => boolean;
  /** Rows folded since the fold was kept before it is kept again. */
  keepAfter?: number;
  mostSegments?: number;
}

export class FoldedFarm {
  fold = new Fold();
  view = this.newView();
  private epoch = -1;
  private touched = 0;
  private unkept = 0;
  private generation = 0;
  /** Segments that lie in the store, with their keys there. */
  private readonly numbers = new Map<Segment, number>();
  /** False as soon as another window keeps the fold. */
  private keeps = true;

  constructor(private readonly parts: Parts) {}

  private newView(): LedgerView {
    const { entries } = this.fold.living;
    return new LedgerView(this.fold.library, entries);
  }

  /** Takes in what the store holds beyond what was folded. */
  async catchUp(): Promise<void> {
    const { store, progress, closed } = this.parts;
    const epoch = await store.epoch();
    if (epoch !== this.epoch) await this.begin(epoch);
    let shown = false;
    for await (const { rows, upTo, done, total } of store.since(this.touched)) {
      if (closed()) return;
      this.take(rows);
      this.touched = upTo;
      if (this.fold.isFull) await this.keep();
      if (done < total || shown) progress({ done, total });
      shown ||= done < total;
    }
    if (shown) progress(null);
    if (this.unkept >= (this.parts.keepAfter ?? KEEP_AFTER)) await this.keep();
  }

  private take(rows: readonly RecordRow[]): void {
    if (rows.length === 0) return;
    const entries = rows.map((row) => {
      const entry = entryFrom(row.raw, row);
      this.view.put(row, entry);
      return entry;
    });
    this.fold.apply(entries);
    this.unkept += rows.length;
  }

  /** From what is kept, or from nothing. */
  private async begin(epoch: number): Promise<void> {
    const { store, format } = this.parts;
    const found = await store.keptFold(format);
    this.numbers.clear();
    found?.segments.forEach((segment, i) => this.numbers.set(segment, found.kept.segments[i] ?? 0));
    this.generation = found?.kept.generation ?? (await store.foldGeneration());
    this.fold = new Fold(new Library(found?.segments ?? []));
    this.view = this.newView();
    this.touched = found?.kept.touched ?? 0;
    this.epoch = found?.kept.epoch ?? epoch;
    this.unkept = 0;
    this.keeps = true;
    for (const due of ["saved", "sent", "stuck"] as const) {
      for (const row of await store.due(due, Infinity)) this.view.putStanding(row);
    }
  }

  /** Packs what was folded, and keeps it for the next start unless another window does. */
  private async keep(): Promise<void> {
    const { fold, epoch, touched } = this;
    fold.seal(this.parts.mostSegments);
    this.unkept = 0;
    const { segments } = fold.library;
    for (const segment of this.numbers.keys()) if (!segments.includes(segment)) this.numbers.delete(segment);
    if (!this.keeps) return;
    const told = segments.map((segment) => this.numbers.get(segment) ?? segment);
    const { store, format } = this.parts;
    // A phone that is full still folds; it only starts more slowly.
    const kept = await store.keepFold({ format, epoch, touched }, this.generation, told).catch(() => null);
    if (kept === null) {
      this.keeps = false;
      return;
    }
    this.generation = kept.generation;
    segments.forEach((segment, i) => this.numbers.set(segment, kept.segments[i] ?? 0));
  }
}
