import { expect, test } from "vitest";
import { crateOf, id, lotOf, named, stockOf } from "../../app/form/testing.ts";
import type { LocalEntry } from "../../sync/session.ts";
import { cratesToRedo, entriesOf, lastCrates, openRounds } from "./redo.ts";

const LOST = id(500);
const OTHER = id(501);
const CELLAR = id(10);
const SHED = id(11);
const ROUND = id(20);
const crate = (n: number) => id(100 + n);
const lot = (n: number) => id(200 + n);
const START = Date.parse("2026-11-20T10:00:00Z");

/** Crates 1 to 5 in the cellar, 6 in the shed, each with tubers in it. */
const stock = stockOf({
  rows: { crates: Object.fromEntries([1, 2, 3, 4, 5, 6].map((n) => [crate(n), named(String(n), "number")])), places: { [CELLAR]: named("Cellar"), [SHED]: named("Shed") } },
  crates: Object.fromEntries([1, 2, 3, 4, 5, 6].map((n) => [crate(n), crateOf({ place: n === 6 ? SHED : CELLAR, lots: [lot(n)] })])),
  lots: Object.fromEntries([1, 2, 3, 4, 5, 6].map((n) => [lot(n), lotOf({ balance: 30, container: crate(n) })])),
  rounds: { [ROUND]: { place: CELLAR, on: "2026-11-20", look: "top", ended: 0, not_seen: [], seen: [], by: "ben" } },
});

let count = 0;
function entry(kind: string, body: Record<string, unknown>, minutes: number, device = LOST): LocalEntry {
  count += 1;
  const recorded_at = START + minutes * 60_000;
  return {
    sha: String(count), id: String(count), seq: count, kind, v: 1, body, occurred_on: new Date(recorded_at).toISOString().slice(0, 10),
    recorded_at, author: "ben", device, held: null, status: "safe", role: "helper", relayed_by: null,
  };
}
const started = entry("round_started", { round: ROUND, place: CELLAR }, 0);
const checked = (n: number, minutes: number, device = LOST) => entry("checked", { crate: crate(n), round: ROUND, look: "top", lines: [] }, minutes, device);

function redo(all: LocalEntry[], places: string[] = [], of = stock) {
  const entries = all.filter((one) => one.device === LOST);
  return cratesToRedo(of, {
    device: LOST,
    entries,
    checksOf: (wanted) => all.filter((one) => one.kind === "checked" && one.body["crate"] === wanted),
    places,
  }).map(({ crate: found, why, done }) => [Number(found.slice(-3)) - 100, why, done]);
}

test("a round whose checks never came: every crate of its place", () => {
  expect(redo([started])).toEqual([1, 2, 3, 4, 5].map((n) => [n, "round", false]));
});

test("crates whose check came are left out, but the last ones it wrote on are looked at again", () => {
  const all = [started, checked(1, 1), checked(2, 2), checked(3, 3), checked(4, 4)];
  expect(redo(all)).toEqual([[2, "wrote", false], [3, "wrote", false], [4, "wrote", false], [5, "round", false]]);
});

test("what somebody else has looked at since is ticked off, before the phone was lost it was known anyway", () => {
  const all = [started, checked(1, 5), checked(2, 3, OTHER), checked(3, 30, OTHER), checked(1, 40, OTHER)];
  expect(redo(all)).toEqual([[1, "wrote", true], [3, "round", true], [4, "round", false], [5, "round", false]]);
});

test("a check from before the round is no check of the round", () => {
  expect(redo([checked(1, -60, OTHER), started]).map(([n]) => n)).toEqual([1, 2, 3, 4, 5]);
});

test("a round that was ended is not open", () => {
  const ended = stockOf({ ...stock, rounds: { [ROUND]: { ...stock.rounds[ROUND]!, ended: 1 } } });
  expect(openRounds(ended, [started])).toEqual([]);
  expect(redo([started, checked(2, 2)], [], ended)).toEqual([[2, "wrote", false]]);
});

test("a place where somebody says it was used is added, each crate once", () => {
  expect(redo([started], [SHED, CELLAR]).map(([n, why]) => [n, why])).toEqual([...[1, 2, 3, 4, 5].map((n) => [n, "round"]), [6, "place"]]);
});

test("a phone that never wrote leaves nothing to redo", () => {
  expect(redo([checked(1, 5, OTHER)])).toEqual([]);
});

test("the last crates are found through the lots that lie in them", () => {
  expect(lastCrates(stock, [entry("gone_out", { lot: lot(6), count: 2, how: "sold" }, 1), entry("moved", { crates: [crate(2), crate(3)], to: SHED }, 2)])).toEqual([crate(2), crate(3), crate(6)]);
});

test("its entries are found back to a week before the last one, and no further", () => {
  const late = entry("checked", {}, 0);
  const week = entry("checked", {}, -6 * 24 * 60);
  const old = entry("checked", {}, -30 * 24 * 60);
  const other = entry("checked", {}, 60, OTHER);
  const on = (date: string) => [late, week, old, other].filter((one) => one.occurred_on === date);
  expect(entriesOf(LOST, on, "2026-12-24")).toEqual([week, late]);
  expect(entriesOf(id(999), on, "2026-12-24")).toEqual([]);
});
