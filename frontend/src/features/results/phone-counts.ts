/** What this phone itself can count of a winter: in, out, lost by cause, left. No ranges. */
import type { StockState, Tally } from "../../core/stock/state.ts";
import { winterOf, type Season } from "./winter.ts";

export interface PhoneCount {
  unit: string;
  packed: number;
  /** How many of the packed are a guess. */
  about: number;
  crates: number;
  thrown: Tally;
  lost: number;
  out: Tally;
  wentOut: number;
  /** Signed: what counts found over the book is positive. */
  difference: number;
  /** Brought out or planted good. */
  broughtOut: number;
  left: number;
}

/** Winters in which anything was packed, newest first. */
export function wintersOf(state: StockState, season: Season): string[] {
  const found = new Set<string>();
  for (const lot of Object.values(state.lots)) if (lot.packed_on) found.add(winterOf(lot.packed_on, season));
  return [...found].sort().reverse();
}

/** One count a unit, tubers first; only lots packed in that winter, and what happened to them since. */
export function phoneCounts(state: StockState, winter: string, season: Season): PhoneCount[] {
  const counts = new Map<string, PhoneCount & { held: Set<string> }>();
  const countOf = (unit: string) => {
    let count = counts.get(unit);
    if (!count) {
      count = {
        unit, packed: 0, about: 0, crates: 0, thrown: {}, lost: 0, out: {}, wentOut: 0, difference: 0,
        broughtOut: 0, left: 0, held: new Set(),
      };
      counts.set(unit, count);
    }
    return count;
  };
  const mine = new Map<string, string>();
  for (const [id, lot] of Object.entries(state.lots)) {
    if (!lot.packed_on || winterOf(lot.packed_on, season) !== winter) continue;
    mine.set(id, lot.packed_on);
    const count = countOf(lot.unit);
    count.packed += lot.packed_count;
    if (lot.about) count.about += lot.packed_count;
    const woken = "on" in lot.woken;
    if (woken) count.broughtOut += lot.balance;
    else count.left += lot.balance;
    for (const stay of lot.stays) if (stay.packed_on === lot.packed_on && stay.crate) count.held.add(stay.crate);
  }
  for (const posting of Object.values(state.postings)) {
    const since = mine.get(posting.lot);
    const lot = state.lots[posting.lot];
    if (since === undefined || posting.on < since || posting.unit !== lot?.unit) continue;
    const count = countOf(posting.unit);
    if (posting.account === "thrown_out" && (posting.stage === "store" || posting.stage === "spring")) {
      count.thrown[posting.cause] = (count.thrown[posting.cause] ?? 0) - posting.amount;
      count.lost -= posting.amount;
    } else if (posting.account === "gone_out") {
      count.out[posting.how] = (count.out[posting.how] ?? 0) - posting.amount;
      count.wentOut -= posting.amount;
    } else if (posting.account === "planted") count.broughtOut -= posting.amount;
    else if (posting.account === "difference") count.difference += posting.amount;
  }
  return [...counts.values()]
    .sort((a, b) => Number(b.unit === "tuber") - Number(a.unit === "tuber") || (a.unit < b.unit ? -1 : 1))
    .map(({ held, ...count }) => ({ ...count, crates: held.size }));
}
