/** The numbers a grower wants each week. Counting only; no rates. */
import { fullCrates, lotsIn } from "../../app/names.ts";
import type { StockState } from "../../core/stock/state.ts";
import { addDays } from "../../ui/dates.ts";

export interface NightOf {
  place: string;
  coldest_milli_c: number;
  warmest_milli_c: number;
}

/** Coldest and warmest hand reading of each place in the last seven days, coldest place first. */
export function nights(state: StockState, today: string): NightOf[] {
  const from = addDays(today, -6);
  const found = new Map<string, NightOf>();
  for (const one of Object.values(state.readings)) {
    if (!one.place || one.temp_milli_c === null || one.on < from || one.on > today) continue;
    const had = found.get(one.place);
    found.set(one.place, {
      place: one.place,
      coldest_milli_c: Math.min(had?.coldest_milli_c ?? one.temp_milli_c, one.temp_milli_c),
      warmest_milli_c: Math.max(had?.warmest_milli_c ?? one.temp_milli_c, one.temp_milli_c),
    });
  }
  return [...found.values()].sort((a, b) => a.coldest_milli_c - b.coldest_milli_c);
}

/** Tubers thrown out of store in the last seven days, by the place of the crate now; most first. */
export function thrownOutThisWeek(state: StockState, today: string): { place: string; count: number }[] {
  const from = addDays(today, -6);
  const counts = new Map<string, number>();
  for (const one of Object.values(state.postings)) {
    if (one.account !== "thrown_out" || one.stage !== "store" || one.unit !== "tuber" || one.on < from || one.on > today) continue;
    const place = state.crates[state.lots[one.lot]?.container ?? ""]?.place ?? "";
    counts.set(place, (counts.get(place) ?? 0) - one.amount);
  }
  return [...counts].map(([place, count]) => ({ place, count })).sort((a, b) => b.count - a.count);
}

export interface Gone {
  crate: string;
  packed: number;
  lost: number;
}

/** Crates of which more than a tenth of what was packed was thrown out in store; worst share first. */
export function moreThanATenthGone(state: StockState): Gone[] {
  return fullCrates(state)
    .map(({ id }) => {
      const lots = lotsIn(state, id).filter(({ lot }) => lot.packed_count > 0);
      const lost = lots.reduce((sum, { lot }) => sum + Object.values(lot.thrown["store"] ?? {}).reduce((n, m) => n + m, 0), 0);
      return { crate: id, packed: lots.reduce((sum, { lot }) => sum + lot.packed_count, 0), lost };
    })
    .filter((one) => one.packed > 0 && one.lost * 10 > one.packed)
    .sort((a, b) => b.lost / b.packed - a.lost / a.packed);
}

export interface Waiting {
  lots: number;
  tubers: number;
  /** The oldest, YYYY-MM-DD. */
  since: string;
}

/** Tubers whose eyes could not be told yet and that are due for another look. */
export function unsureDue(state: StockState, today: string, days: number): Waiting {
  const due = Object.values(state.lots)
    .filter((lot) => lot.eyes === "unsure" && lot.unit === "tuber" && lot.balance > 0)
    .map((lot) => ({ count: lot.balance, since: lot.looked_on > lot.born_on ? lot.looked_on : lot.born_on }))
    .filter((one) => one.since !== "" && addDays(one.since, days) <= today);
  return {
    lots: due.length,
    tubers: due.reduce((sum, one) => sum + one.count, 0),
    since: due.map((one) => one.since).sort()[0] ?? "",
  };
}

export interface Drying {
  place: string;
  lots: number;
  since: string;
}

/** What is drying off, by place, longest first. */
export function drying(state: StockState): Drying[] {
  const found = new Map<string, Drying>();
  for (const lot of Object.values(state.lots)) {
    if (lot.balance <= 0 || !("from" in lot.curing) || !lot.curing.from || lot.curing.to) continue;
    const place = lot.curing.place;
    const had = found.get(place);
    found.set(place, { place, lots: (had?.lots ?? 0) + 1, since: had && had.since < lot.curing.from ? had.since : lot.curing.from });
  }
  return [...found.values()].sort((a, b) => (a.since < b.since ? -1 : 1));
}
