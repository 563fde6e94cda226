/** What was sold, from the entries: each sale with its lines. Pure. */
import { standingOf } from "../../app/form/mendings.ts";
import type { StockState } from "../../core/stock/state.ts";
import type { LocalEntry } from "../../sync/session.ts";

export interface SoldLine {
  sha: string;
  lot: string;
  variety: string;
  unit: string;
  count: number;
}

export interface Sold {
  /** The sale's id, or the entry's hash while it has none. */
  key: string;
  /** "" while nobody wrote a price or buyer beside it. */
  sale: string;
  on: string;
  lines: SoldLine[];
}

/** Newest first. Entries that were undone have no posting and so no line. */
export function soldIn(state: StockState, entry: (sha: string) => LocalEntry | undefined, around: (sha: string) => readonly LocalEntry[]): Sold[] {
  const found = new Map<string, Sold>();
  for (const posting of Object.values(state.postings)) {
    if (posting.account !== "gone_out" || posting.how !== "sold" || posting.amount >= 0) continue;
    const written = entry(posting.record);
    if (!written) continue;
    const body = standingOf(written, around(written.sha), state).body;
    const sale = typeof body["sale"] === "string" ? body["sale"] : "";
    const key = sale || written.sha;
    const one = found.get(key) ?? { key, sale, on: posting.on, lines: [] };
    one.lines.push({
      sha: written.sha,
      lot: posting.lot,
      variety: state.lots[posting.lot]?.variety ?? "unknown",
      unit: posting.unit,
      count: -posting.amount,
    });
    if (posting.on > one.on) one.on = posting.on;
    found.set(key, one);
  }
  return [...found.values()].sort((a, b) => (a.on < b.on ? 1 : a.on > b.on ? -1 : a.key < b.key ? 1 : -1));
}
