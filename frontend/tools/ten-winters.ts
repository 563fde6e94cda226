/**
 * A large invented farm, told entry by entry as its feed tells them: ten winters of 2,000
 * crates, with clumps dug from what was planted, divided, packed, looked after, sold, woken and
 * planted again. The same entries at every run.
 */
import { CHAIN_START, nextLink } from "../src/core/sync/chain.ts";
import { seal } from "../src/core/sync/envelope.ts";
import type { FeedRow } from "../src/store/rows.ts";

const FARM = "00000000-0000-4000-8099-000000000000";
const OWNER = "00000000-0000-4000-8009-000000000000";
const DEVICES = [1, 2, 3, 4].map((i) => `00000000-0000-4000-8001-00000000000${i}`);

/** A fixed sequence of numbers in [0, 1): xorshift with 32 bits (Marsaglia 2003). */
function sequence(seed: number): () => number {
  let x = seed;
  return () => {
    x ^= x << 13;
    x ^= x >>> 17;
    x ^= x << 5;
    return (x >>> 0) / 2 ** 32;
  };
}

interface Plan {
  winters: number;
  crates: number;
  varieties: number;
  plantings: number;
  rounds: number;
}

export function planFor(entries: number): Plan {
  const size = entries / 155_000;
  return {
    winters: size < 0.05 ? 2 : 10,
    crates: Math.max(4, Math.round(2000 * size * (size < 0.05 ? 5 : 1))),
    varieties: 60,
    plantings: Math.max(4, Math.round(500 * size * (size < 0.05 ? 5 : 1))),
    rounds: 6,
  };
}

class Teller {
  readonly random = sequence(20261125);
  private count = 0;
  private ids = 0;
  private readonly counts = new Map<string, number>();
  chain = CHAIN_START;
  seq = 0;
  now = Date.UTC(2016, 8, 1, 7);

  id(): string {
    this.ids += 1;
    const random = Math.floor(this.random() * 2 ** 32).toString(16).padStart(8, "0");
    return `${random}-0000-7000-8000-${this.ids.toString(16).padStart(12, "0")}`;
  }

  pick<T>(from: readonly T[]): T {
    return from[Math.floor(this.random() * from.length)] as T;
  }

  tell(kind: string, body: Record<string, unknown>): FeedRow {
    this.count += 1;
    this.now += 20_000 + Math.floor(this.random() * 60_000);
    const device = this.pick(DEVICES);
    const device_seq = (this.counts.get(device) ?? 0) + 1;
    this.counts.set(device, device_seq);
    const on = new Date(this.now).toISOString().slice(0, 10);
    const stamp: [number, number] | null = kind === "field_set" ? [this.now, 0] : null;
    const { raw, sha } = seal({
      id: this.id(), farm: FARM, device, device_seq, author: OWNER, kind, v: 1, occurred_on: on,
      recorded_at: this.now, ...(stamp ? { stamp } : {}), body,
    });
    this.seq += 1;
    const row = {
      sha, raw, device, device_seq, seq: this.seq, held: null, received_at: this.now + 5000, received_on: on,
      recorded_on: on, stamp_eff: stamp, role: "owner", relayed_by: null,
    };
    this.chain = nextLink(this.chain, row);
    return { ...row, chain: this.chain };
  }

  skipTo(ms: number): void {
    if (ms > this.now) this.now = ms;
  }
}

/** The entries in the order of the feed, each made when it is asked for. */
export function* tenWinters(plan: Plan): Generator<FeedRow> {
  const t = new Teller();
  const ids = (count: number): string[] => Array.from({ length: count }, () => t.id());
  const [varieties, crates, places, methods] = [ids(plan.varieties), ids(plan.crates), ids(6), ids(3)];
  for (const [i, row] of varieties.entries()) yield t.tell("field_set", { table: "varieties", row, field: "name", value: `Sort ${i + 1}` });
  for (const [i, row] of crates.entries()) yield t.tell("field_set", { table: "crates", row, field: "number", value: String(i + 1) });
  for (const [i, row] of places.entries()) yield t.tell("field_set", { table: "places", row, field: "name", value: `Place ${i + 1}` });
  for (const [i, row] of methods.entries()) yield t.tell("field_set", { table: "methods", row, field: "name", value: `Method ${i + 1}` });
  let plantings: { planting: string; variety: string }[] = [];
  for (let winter = 0; winter < plan.winters; winter += 1) {
    t.skipTo(Date.UTC(2016 + winter, 8, 15, 7));
    plantings = yield* oneWinter(t, plan, winter, { varieties, crates, places, methods, plantings });
  }
}

interface Farm {
  varieties: string[];
  crates: string[];
  places: string[];
  methods: string[];
  plantings: { planting: string; variety: string }[];
}

function* oneWinter(t: Teller, plan: Plan, winter: number, farm: Farm): Generator<FeedRow, Farm["plantings"]> {
  const heaps: { lot: string; left: number }[] = [];
  for (let i = 0; i < plan.plantings; i += 1) {
    const planted = farm.plantings[i];
    const variety = planted?.variety ?? farm.varieties[i % farm.varieties.length] ?? "unknown";
    const clump = t.id();
    yield t.tell("dug", { ...(planted ? { planting: planted.planting } : {}), variety, lots: [{ lot: clump, count: 12 }] });
    const good = { lot: t.id(), count: 80, eyes: "showing" };
    const unsure = { lot: t.id(), count: 20, eyes: "unsure" };
    yield t.tell("divided", { from: [{ lot: clump, count: 12 }], into: [good, unsure], discarded: { no_eye: 6 } });
    heaps.push({ lot: good.lot, left: good.count }, { lot: unsure.lot, left: unsure.count });
  }
  const packed: { crate: string; lot: string; count: number }[] = [];
  for (const [i, crate] of farm.crates.entries()) {
    const heap = heaps[i % heaps.length];
    if (heap === undefined || heap.left <= 0) continue;
    const count = Math.min(heap.left, 25);
    heap.left -= count;
    const lot = t.id();
    packed.push({ crate, lot, count });
    const place = farm.places[(i + winter) % farm.places.length];
    yield t.tell("packed", { crate, from: [{ lot: heap.lot, count }], lots: [{ lot, count }], method: t.pick(farm.methods), moisture: "dry", place });
  }
  for (let round = 0; round < plan.rounds; round += 1) {
    t.skipTo(Date.UTC(2016 + winter, 10 + round, 5, 7));
    yield* oneRound(t, farm, packed, round);
  }
  t.skipTo(Date.UTC(2017 + winter, 3, 20, 7));
  const next: Farm["plantings"] = [];
  for (const [i, one] of packed.entries()) {
    if (i % 4 === 0) yield t.tell("gone_out", { lot: one.lot, count: Math.min(8, Math.max(0, one.count)), how: "sold" });
    if (i % 4 === 1) yield t.tell("woken", { lot: one.lot, showing: one.count });
    if (i % 4 === 1 && next.length < plan.plantings) {
      const planting = t.id();
      yield t.tell("planted", { planting, bed: "1", row: String(next.length), from: [{ lot: one.lot, count: Math.max(0, one.count) }] });
      next.push({ planting, variety: farm.varieties[next.length % farm.varieties.length] ?? "unknown" });
    }
  }
  for (const { crate, lot } of packed) yield t.tell("emptied", { crate, lots: [lot] });
  return next;
}

function* oneRound(t: Teller, farm: Farm, packed: { crate: string; lot: string; count: number }[], month: number): Generator<FeedRow> {
  const rounds = farm.places.map(() => t.id());
  for (const [i, place] of farm.places.entries()) {
    yield t.tell("round_started", { round: rounds[i], place });
    yield t.tell("measured", { place, readings: [{ measured_at: t.now, temp_c: 6.5, rh_pct: 85 }] });
  }
  for (const [i, one] of packed.entries()) {
    const lost = t.random() < 0.1 && one.count > 2 ? 1 : 0;
    const line = { lot: one.lot, expected: one.count, seen: one.count, all: month % 3 === 2, ...(lost ? { removed: { rot: lost } } : {}) };
    one.count -= lost;
    const check = t.tell("checked", { crate: one.crate, round: rounds[i % rounds.length], look: month % 3 === 2 ? "all" : "top", lines: [line] });
    yield check;
    if (i % 50 === 7) yield t.tell("record_voided", { target: check.sha });
    if (i % 50 === 13) yield t.tell("record_corrected", { target: check.sha, body: { crate: one.crate, look: "top", lines: [{ lot: one.lot, removed: { dried_up: 1 } }] } });
    if (i % 20 === 3) yield t.tell("moved", { crate: one.crate, place: t.pick(farm.places) });
    if (i % 40 === 9) yield t.tell("counted", { lot: one.lot, count: one.count });
  }
  for (const round of rounds) yield t.tell("round_ended", { round });
}
