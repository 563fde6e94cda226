/**
 * Which crates to look at again when a phone is lost: from what is known on this
 * phone alone, so it can be read in the cellar. Pure.
 */
import { stackOrder } from "../../app/contents.ts";
import { fullCrates } from "../../app/names.ts";
import type { StockState } from "../../core/stock/state.ts";
import type { LocalEntry } from "../../sync/session.ts";
import { addDays } from "../../ui/dates.ts";

/** Of the last crates it wrote on, more may be missing. */
const LAST_CRATES = 3;
/** A round left open for longer is no longer the one it was lost in. */
const ROUND_DAYS = 7;
const LOOK_BACK_DAYS = 400;

export interface Redo {
  crate: string;
  /** Why: its round stood open here; it wrote here last; somebody says it was used here. */
  why: "round" | "wrote" | "place";
  /** Somebody else has checked it since. */
  done: boolean;
}

export interface LostRound {
  round: string;
  place: string;
  on: string;
  /** ms UTC by the phone's own clock */
  started_at: number;
}

/** What came from a device in the days before it was last used, oldest first. */
export function entriesOf(device: string, entriesOn: (date: string) => readonly LocalEntry[], today: string): LocalEntry[] {
  const found: LocalEntry[] = [];
  let until = addDays(today, -LOOK_BACK_DAYS);
  for (let date = today; date >= until; date = addDays(date, -1)) {
    const theirs = entriesOn(date).filter((one) => one.device === device);
    if (theirs.length > 0 && found.length === 0) until = addDays(date, -ROUND_DAYS);
    found.push(...theirs);
  }
  return found.sort((a, b) => a.recorded_at - b.recorded_at);
}

/** Rounds that it began and whose end never came. */
export function openRounds(state: StockState, entries: readonly LocalEntry[]): LostRound[] {
  return entries.flatMap((entry) => {
    const id = entry.body["round"];
    if (entry.kind !== "round_started" || typeof id !== "string") return [];
    const round = state.rounds[id];
    return round && round.ended === 0 ? [{ round: id, place: round.place, on: round.on, started_at: entry.recorded_at }] : [];
  });
}

/** The crates it wrote on, the last one first. */
export function lastCrates(state: StockState, entries: readonly LocalEntry[], most = LAST_CRATES): string[] {
  const found: string[] = [];
  for (const entry of [...entries].reverse()) {
    for (const crate of cratesIn(state, entry.body)) if (!found.includes(crate)) found.push(crate);
    if (found.length >= most) break;
  }
  return found.slice(0, most);
}

export interface Asked {
  device: string;
  entries: readonly LocalEntry[];
  /** Checks of a crate that count, in any order. */
  checksOf: (crate: string) => readonly LocalEntry[];
  /** Places where it is known to have been used. */
  places: readonly string[];
}

/** By place as the stacks stand, each crate once. */
export function cratesToRedo(state: StockState, { device, entries, checksOf, places }: Asked): Redo[] {
  const found = new Map<string, Redo>();
  const lastWrote = entries.at(-1)?.recorded_at ?? 0;
  const add = (crate: string, why: Redo["why"], done: boolean): void => {
    if (!found.has(crate)) found.set(crate, { crate, why, done });
  };
  for (const round of openRounds(state, entries)) {
    for (const crate of at(state, round.place)) {
      const since = checksOf(crate).filter((one) => one.recorded_at >= round.started_at);
      if (since.some((one) => one.device === device || one.recorded_at <= lastWrote)) continue;
      add(crate, "round", since.length > 0);
    }
  }
  const later = (crate: string): boolean => checksOf(crate).some((one) => one.device !== device && one.recorded_at > lastWrote);
  for (const crate of lastCrates(state, entries)) add(crate, "wrote", later(crate));
  for (const place of places) for (const crate of at(state, place)) add(crate, "place", later(crate));
  return stackOrder(state, [...found.keys()]).flatMap((crate) => found.get(crate) ?? []);
}

function at(state: StockState, place: string): string[] {
  return fullCrates(state)
    .filter(({ crate }) => crate.place === place)
    .map(({ id }) => id);
}

/** Crates that a body names, itself or through a lot that lies in one. */
function cratesIn(state: StockState, value: unknown, depth = 0): string[] {
  if (typeof value === "string") {
    if (state.crates[value]) return [value];
    const container = state.lots[value]?.container ?? "";
    return state.crates[container] ? [container] : [];
  }
  if (typeof value !== "object" || value === null || depth > 5) return [];
  return Object.values(value).flatMap((one) => cratesIn(state, one, depth + 1));
}
