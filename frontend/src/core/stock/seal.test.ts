import fc from "fast-check";
import { expect, test } from "vitest";
import { Library, type Segment } from "../shelf/library.ts";
import { canonical } from "./canonical.ts";
import type { Entry } from "./entries.ts";
import { Fold } from "./fold.ts";
import { histories } from "./testing/histories.ts";

const seeded = { seed: 20261126 };

function fromNothing(entries: readonly Entry[]): string {
  const fold = new Fold();
  fold.apply(entries);
  return canonical(fold.state());
}

/** What a database gives back of what it was given. */
function stored(segments: readonly Segment[]): Segment[] {
  return segments.map((segment) => structuredClone(segment));
}

/** How the life of a fold goes on after some entries. */
const steps = fc.array(
  fc.record({ size: fc.integer({ min: 1, max: 5 }), then: fc.constantFrom("go on", "seal", "restart", "merge", "look") }),
  { minLength: 1, maxLength: 12 },
);

function lived(delivered: readonly Entry[], life: readonly { size: number; then: string }[], seen: Map<string, number>): Fold {
  let fold = new Fold();
  for (let at = 0, i = 0; at < delivered.length; i += 1) {
    const { size, then } = life[i % life.length] ?? { size: 1, then: "seal" };
    fold.apply(delivered.slice(at, at + size));
    at += size;
    seen.set(then, (seen.get(then) ?? 0) + 1);
    if (then === "look") fold.whole();
    if (then === "seal" || then === "restart") fold.seal();
    if (then === "merge") {
      fold.seal();
      if (fold.library.segments.length > 1) fold.library.merge(fold.library.smallestPair());
    }
    if (then === "restart") fold = new Fold(new Library(stored(fold.library.segments)));
  }
  return fold;
}

test("packed, stored, merged and read back at any moment, a fold goes on to what folding from nothing gives", () => {
  const seen = new Map<string, number>();
  fc.assert(
    fc.property(histories.chain((entries) => fc.tuple(fc.constant(entries), fc.shuffledSubarray(entries, { minLength: entries.length }))), steps, ([entries, shuffled], life) => {
      for (const delivered of [entries, shuffled]) {
        const fold = lived(delivered, life, seen);
        expect(canonical(fold.whole())).toBe(fromNothing(entries));
        fold.seal();
        const again = new Fold(new Library(stored(fold.library.segments)));
        expect(canonical(again.whole())).toBe(fromNothing(entries));
      }
    }),
    { ...seeded, numRuns: 120 },
  );
  for (const then of ["go on", "seal", "restart", "merge", "look"]) expect(seen.get(then) ?? 0).toBeGreaterThan(40);
});

test("entries that were packed while only here, and then came back with a number, give the feed's state", () => {
  fc.assert(
    fc.property(histories, steps, (entries, life) => {
      const here = entries.map((entry) => ({ ...entry, seq: null, received_at: entry.recorded_at, received_on: entry.recorded_on, held: "" }));
      const fold = lived([...here, ...entries], life, new Map());
      expect(canonical(fold.whole())).toBe(fromNothing(entries));
    }),
    { ...seeded, numRuns: 60 },
  );
});

test("what is in use is listed, what is not is found when asked for by key", () => {
  fc.assert(
    fc.property(histories, (entries) => {
      const fold = new Fold(new Library(), 0);
      fold.apply(entries);
      const { lots, checks, readings } = fold.whole();
      // A thing that happened ten years later: nothing of the history is in use any more but what is in store.
      const later = entries.map((entry) => ({ ...entry }));
      fold.apply(later.slice(0, 1).map((entry) => ({
        ...entry, sha256: "f".repeat(64), id: "ffffffff-0000-4000-8000-000000000000", seq: 10_000, kind: "found", v: 1, held: "", role: "owner",
        body: { lot: "ffffffff-0000-4000-8000-000000000001", unit: "tuber", count: 1 },
        occurred_on: "2036-11-25", received_on: "2036-11-25", recorded_on: "2036-11-25",
      })));
      fold.seal();
      const state = fold.state();
      expect(fold.isWhole).toBe(false);
      for (const [id, lot] of Object.entries(lots)) {
        expect(Object.hasOwn(state.lots, id)).toBe(lot.balance !== 0);
        expect(canonical(state.lots[id])).toBe(canonical(lot));
      }
      expect(Object.keys(state.checks)).toEqual([]);
      expect(Object.keys(state.readings)).toEqual([]);
      for (const [sha, check] of Object.entries(checks)) expect(canonical(state.checks[sha])).toBe(canonical(check));
      for (const [key, reading] of Object.entries(readings)) expect(canonical(state.readings[key])).toBe(canonical(reading));
      expect(state.lots["nobody"]).toBeUndefined();
      expect("nobody" in state.lots).toBe(false);
    }),
    { ...seeded, numRuns: 60 },
  );
});

test("a farm with room for all its entries has every page in use", () => {
  fc.assert(
    fc.property(histories, (entries) => {
      const fold = new Fold();
      fold.apply(entries);
      fold.seal();
      expect(fold.isWhole).toBe(true);
      expect(canonical(fold.state())).toBe(fromNothing(entries));
      const again = new Fold(new Library(stored(fold.library.segments)));
      expect(canonical(again.state())).toBe(fromNothing(entries));
    }),
    { ...seeded, numRuns: 60 },
  );
});
