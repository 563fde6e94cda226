/** Random histories of a small farm, sensible and senseless, for the properties of the fold. */
import fc from "fast-check";
import { seal } from "../../sync/envelope.ts";
import { mayWrite } from "../../sync/rights.ts";
import { refusals } from "../../sync/validate.ts";
import { entryFrom, type Entry } from "../entries.ts";
import { rankOf } from "../kinds.ts";

const DAY_MS = 86_400_000;
const START_MS = Date.UTC(2026, 9, 20, 8);

function pool(sort: number, size: number): string[] {
  return Array.from({ length: size }, (_, i) => `00000000-0000-4000-8${String(sort).padStart(3, "0")}-${String(i).padStart(12, "0")}`);
}

const [DEVICES, LOTS, CRATES, PLACES] = [pool(1, 3), pool(2, 6), pool(3, 3), pool(4, 2)];
const [VARIETIES, PLANTINGS, ROUNDS, ORDERS] = [pool(5, 3), pool(6, 2), pool(7, 2), pool(8, 2)];
const MEMBERS = new Map(pool(9, 4).map((id, i) => [id, ["owner", "grower", "helper", "viewer"][i] ?? ""]));
const CODES = ["4K7QM2X1", "9M2X4K7Q", "00000002"];

const one = (from: readonly string[]): fc.Arbitrary<string> => fc.constantFrom(...from);
const count = fc.nat(12);
const causes = fc.dictionary(one(["rot", "dried_up", "a_cause_of_tomorrow", "constructor"]), fc.integer({ min: 1, max: 3 }), { minKeys: 1, maxKeys: 2 });
const variety = one([...VARIETIES, "unknown"]);

type Fields = Record<string, fc.Arbitrary<unknown>>;

/** A body with all of `must` and some of `may`. */
function body(must: Fields, may: Fields = {}): fc.Arbitrary<Record<string, unknown>> {
  return fc.record({ ...must, ...may }, { requiredKeys: Object.keys(must) });
}

const lines = (line: fc.Arbitrary<unknown>, most = 2): fc.Arbitrary<unknown[]> => fc.array(line, { minLength: 1, maxLength: most });
const taken = lines(body({ lot: one(LOTS), count }, { thrown_out: causes }));
const given = lines(body({ lot: one(LOTS), count }, { container: one(CRATES), variety, unit: one(["tuber", "clump"]), eyes: one(["showing", "unsure"]), code: one(CODES) }));

const BODIES: Record<string, fc.Arbitrary<Record<string, unknown>>> = {
  field_set: body({ table: one(["varieties", "crates"]), row: one([...VARIETIES, ...CRATES]), field: one(["name", "number", "constructor"]), value: fc.oneof(fc.string(), fc.nat(9), fc.boolean(), fc.constant(null)) }),
  same_as: body({ table: fc.constant("varieties"), row: one(VARIETIES), into: one(VARIETIES) }),
  labelled: fc.oneof(body({ code: one(CODES), target: fc.constant("crate"), id: one(CRATES) }), body({ code: one(CODES), target: fc.constant("lot"), id: one(LOTS) })),
  printed: body({ codes: fc.array(one(CODES), { maxLength: 2 }), stock: fc.constant("a4") }, { copies: fc.integer({ min: 1, max: 3 }) }),
  identified: body({ lot: one(LOTS), variety }),
  planted: body({ planting: one(PLANTINGS) }, { from: taken, variety, plants: count, from_planting: one(PLANTINGS) }),
  rogued: body({ planting: one(PLANTINGS) }, { removed: causes }),
  dug: body({ lots: lines(body({ lot: one(LOTS), count }, { variety, container: one(CRATES) })) }, { planting: one(PLANTINGS), variety }),
  divided: body({ from: taken, into: given }, { discarded: causes, container: one(CRATES) }),
  graded: body({ from: taken, into: given }, { discarded: causes }),
  split: body({ from: taken, into: given }),
  curing_started: body({ lots: lines(one(LOTS)) }, { place: one(PLACES), washed: fc.boolean() }),
  curing_ended: body({ lots: lines(one(LOTS)) }),
  packed: body({ crate: one(CRATES), lots: given }, { from: taken, place: one(PLACES), moisture: one(["dry", "damp"]), mass_g: fc.nat(9000) }),
  round_started: body({ round: one(ROUNDS), place: one(PLACES) }),
  round_ended: body({ round: one(ROUNDS) }, { not_seen: lines(one(CRATES)) }),
  measured: body({ place: one(PLACES), readings: lines(body({ measured_at: fc.nat(9) }, { temp_c: fc.constantFrom(6.1, -0.05, 6.0005) })) }),
  checked: fc.oneof(
    body({ crate: one(CRATES), look: one(["top", "all"]), lines: lines(body({ lot: one(LOTS) }, { seen: count, all: fc.boolean(), removed: causes })) }, { round: one(ROUNDS), unassigned: causes }),
    body({ code: one(CODES), look: fc.constant("top"), lines: fc.constant([]) }),
  ),
  moved: fc.oneof(body({ crate: one(CRATES), place: one(PLACES) }, { position: one(["1", "2"]) }), body({ lot: one(LOTS), container: one(CRATES) })),
  counted: body({ lot: one(LOTS), count }, { about: fc.boolean() }),
  found: body({ lot: one(LOTS), unit: one(["tuber", "clump"]), count }, { container: one(CRATES), variety, code: one(CODES) }),
  emptied: body({ crate: one(CRATES) }, { lots: lines(one(LOTS)) }),
  gone_out: body({ lot: one(LOTS), count, how: one(["sold", "bin"]) }, { order: one(ORDERS) }),
  returned: body({ lot: one(LOTS), count }, { of: one(LOTS), container: one(CRATES) }),
  bought: body({ lot: one(LOTS), unit: fc.constant("tuber"), count }, { variety }),
  promised: body({ variety: one(VARIETIES), count, order: one(ORDERS) }),
  woken: body({ lot: one(LOTS) }, { showing: count, thrown_out: causes, back: fc.boolean() }),
  struck: body({ from: lines(body({ lot: one(LOTS) })), into: given }),
  rooted: body({ from: taken, into: given }),
  potted: body({ from: taken, into: given }),
};

/** An entry before it is known what it refers to. */
interface Sketch {
  kind: string;
  body: Record<string, unknown>;
  author: string;
  device: string;
  /** Days before the day it is written, for the date it says. */
  back: number;
  late: number;
  wait: number;
  /** Which earlier entry a mending names, counted back. */
  target: number;
  sameId: boolean;
  decision: string;
}

const sketch: fc.Arbitrary<Sketch> = fc
  .constantFrom(...Object.keys(BODIES), "counted", "counted", "counted", "checked", "packed", "record_voided", "record_voided", "record_corrected", "record_corrected", "problem_accepted", "held_resolved")
  .chain((kind) =>
    fc.record({
      kind: fc.constant(kind),
      body: BODIES[kind] ?? fc.constant({}),
      author: one([...MEMBERS.keys()].slice(0, 3)),
      device: one(DEVICES),
      back: fc.constantFrom(0, 0, 0, 1, 21, -1),
      late: fc.constantFrom(0, 0, 1000, DAY_MS, 30 * DAY_MS),
      wait: fc.constantFrom(0, 60_000, 20 * 3_600_000),
      target: fc.nat(6),
      sameId: fc.nat(40).map((n) => n === 0),
      decision: one(["accept", "leave"]),
    }),
  );

export const histories: fc.Arbitrary<Entry[]> = fc.array(sketch, { minLength: 1, maxLength: 40 }).map(written);

/** The entries of a feed that holds the sketches in the order of their receipt. */
function written(sketches: readonly Sketch[]): Entry[] {
  const made: { entry: Entry; received: number }[] = [];
  let now = START_MS;
  sketches.forEach((told, i) => {
    now += told.wait;
    const received = now + told.late;
    const target = made.at(-1 - (told.target % Math.max(1, made.length)))?.entry;
    const role = MEMBERS.get(told.author) ?? "";
    const { raw, sha } = seal({
      id: told.sameId && target ? target.id : pool(100, 1000)[i] ?? "",
      farm: pool(99, 1)[0] ?? "",
      device: told.device,
      device_seq: i + 1,
      author: told.author,
      kind: told.kind,
      v: 1,
      occurred_on: day(now - told.back * DAY_MS),
      recorded_at: now,
      ...(told.kind === "field_set" ? { stamp: [now, 0] as const } : {}),
      body: bodyOf(told, target),
    });
    const parsed = JSON.parse(raw) as { body: unknown };
    const held = !mayWrite(told.kind, role) ? "not_permitted" : refusals(told.kind, 1, parsed.body).length > 0 ? "bad_body" : null;
    const facts = { sha, seq: null, held, received_at: received, received_on: day(received), recorded_on: day(now), stamp_eff: told.kind === "field_set" ? ([now, 0] as const) : null, role };
    made.push({ entry: entryFrom(raw, facts), received });
  });
  return made.sort((a, b) => a.received - b.received).map(({ entry }, i) => ({ ...entry, seq: i + 1 }));
}

function bodyOf(told: Sketch, target: Entry | undefined): Record<string, unknown> {
  const sha = target?.sha256 ?? "ab".repeat(32);
  switch (told.kind) {
    case "record_voided":
      return { target: sha };
    case "record_corrected":
      return { target: sha, body: { ...target?.body, ...(target?.body["count"] === undefined ? {} : { count: told.target }) } };
    case "problem_accepted":
      return { problem: `${told.target % 2 === 0 ? "not_allowed" : "date_clamped"}:${sha}` };
    case "held_resolved":
      return { target: sha, decision: told.decision };
    default:
      return told.body;
  }
}

function day(ms: number): string {
  return new Date(ms).toISOString().slice(0, 10);
}

/** A further entry of the owner's, written well after all of a history. */
export function afterwards(history: readonly Entry[], ways: readonly { kind: string; body: Record<string, unknown>; occurred_on: string }[]): Entry[] {
  const latest = Math.max(...history.map((entry) => entry.received_at)) + 100 * DAY_MS;
  return ways.map(({ kind, body: told, occurred_on }, i) => {
    const at = latest + i * 1000;
    const { raw, sha } = seal({
      id: pool(101, 10)[i] ?? "", farm: pool(99, 1)[0] ?? "", device: DEVICES[0] ?? "", device_seq: 10_000 + i,
      author: [...MEMBERS.keys()][0] ?? "", kind, v: 1, occurred_on, recorded_at: at, body: told,
    });
    return entryFrom(raw, { sha, seq: history.length + 1 + i, held: null, received_at: at, received_on: day(at), recorded_on: day(at), stamp_eff: null, role: "owner" });
  });
}

export function dayAfter(history: readonly Entry[]): string {
  return day(Math.max(...history.map((entry) => entry.received_at)) + 100 * DAY_MS);
}

export const CRATE = CRATES[0] ?? "";

if (Object.keys(BODIES).some((kind) => rankOf(kind) === undefined)) throw new Error("a kind without a rank");
