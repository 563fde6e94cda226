/** The stock of a farm, folded from its feed. */
import type { Entry } from "./entries.ts";
import type { StockState } from "./state.ts";

export class Fold {
  readonly entries = new Map<string, Entry>();

  apply(entries: Iterable<Entry>): void {
    for (const entry of entries) this.entries.set(entry.sha256, entry);
  }

  state(): StockState {
    return {
      lots: {}, crates: {}, rows: {}, same: {}, codes: {}, postings: {}, checks: {}, readings: {},
      rounds: {}, plantings: {}, promises: {}, printed: {}, problems: {}, held: {}, unknown: 0,
    };
  }
}
