import fc from "fast-check";
import { expect, test, vi } from "vitest";
import { canonical } from "./canonical.ts";
import type { Entry } from "./entries.ts";
import { Fold } from "./fold.ts";
import { IN } from "./ledger.ts";
import { afterwards, CRATE, dayAfter, histories } from "./testing/histories.ts";
import { NoWayOut, waysOut } from "./ways-out.ts";

function folded(entries: readonly Entry[]): Fold {
  const fold = new Fold();
  fold.apply(entries);
  return fold;
}

function printed(entries: readonly Entry[]): string {
  return canonical(folded(entries).state());
}

vi.setConfig({ testTimeout: 120_000 });

const seeded = { seed: 20261125 };

test("any order of delivery, any doubling and any paging give one state", () => {
  fc.assert(
    fc.property(
      histories.chain((entries) =>
        fc.tuple(
          fc.constant(entries),
          fc.shuffledSubarray([...entries, ...entries], { minLength: entries.length * 2 }),
          fc.array(fc.integer({ min: 1, max: 7 }), { minLength: 1 }),
        ),
      ),
      ([entries, delivered, sizes]) => {
        const fold = new Fold();
        for (let at = 0, i = 0; at < delivered.length; i += 1) {
          const size = sizes[i % sizes.length] ?? 1;
          fold.apply(delivered.slice(at, at + size));
          at += size;
        }
        expect(canonical(fold.state())).toBe(printed(entries));
      },
    ),
    { ...seeded, numRuns: 200 },
  );
});

test("entries taken in one by one, the late ones last, give what folding from nothing gives", () => {
  fc.assert(
    fc.property(
      histories.chain((entries) => fc.shuffledSubarray(entries, { minLength: entries.length })),
      (entries) => {
        const fold = new Fold();
        entries.forEach((entry, i) => {
          fold.apply([entry]);
          expect(canonical(fold.state())).toBe(printed(entries.slice(0, i + 1)));
        });
      },
    ),
    { ...seeded, numRuns: 60 },
  );
});

test("entries that were only here and then come back with a number give the feed's state", () => {
  fc.assert(
    fc.property(histories, (entries) => {
      const fold = new Fold();
      fold.apply(
        entries.map((entry) => ({
          ...entry, seq: null, received_at: entry.recorded_at, received_on: entry.recorded_on, held: "",
        })),
      );
      for (const entry of entries) fold.apply([entry]);
      expect(canonical(fold.state())).toBe(printed(entries));
    }),
    { ...seeded, numRuns: 150 },
  );
});

/** In = in store + out, per lot and unit, discards at the bench included. */
function assertIdentity(fold: Fold): void {
  const sums = new Map<string, number>();
  const balances = new Map<string, number>();
  for (const { lot, unit, account, amount } of Object.values(fold.state().postings)) {
    const key = `${lot} ${unit}`;
    balances.set(key, (balances.get(key) ?? 0) + amount);
    if (account === "difference") continue;
    expect(IN.has(account) ? amount >= 0 : true, account).toBe(true);
    sums.set(key, (sums.get(key) ?? 0) + (IN.has(account) ? amount : 0));
  }
  for (const [id, { unit, balance, accounts }] of Object.entries(fold.state().lots)) {
    const ins = Object.entries(accounts).filter(([name]) => IN.has(name) || name === "difference");
    const outs = Object.entries(accounts).filter(([name]) => !IN.has(name) && name !== "difference");
    const total = (list: [string, number][]): number => list.reduce((sum, [, n]) => sum + n, 0);
    expect(total(ins) - total(outs)).toBe(balances.get(`${id} ${unit}`) ?? 0);
    const discards = Object.values(fold.state().postings).filter((one) => one.lot === id && one.unit !== unit);
    // What was thrown out at the bench came off and went in one entry: nothing of it stays.
    expect(discards.reduce((sum, one) => sum + one.amount, 0)).toBe(0);
    if (unit !== "tuber") expect(balance).toBe(balances.get(`${id} ${unit}`) ?? 0);
  }
}

test("per lot and unit nothing appears or goes in silence, after every prefix", () => {
  fc.assert(
    fc.property(histories, (entries) => {
      const fold = new Fold();
      for (const entry of entries) {
        fold.apply([entry]);
        assertIdentity(fold);
      }
    }),
    { ...seeded, numRuns: 60 },
  );
});

test("each way out that a contradiction offers clears it", () => {
  const tried = new Set<string>();
  fc.assert(
    fc.property(histories, (entries) => {
      const fold = folded(entries);
      for (const [key, { code, outs, voidable }] of Object.entries(fold.state().problems)) {
        for (const out of outs) {
          for (const record of out === "void" ? voidable : [""]) {
            const ways = waysOut(fold, key, out, { today: dayAfter(entries), crate: CRATE, record });
            const left = folded([...entries, ...afterwards(entries, ways)]).problem(key);
            expect(left === undefined || left.accepted !== "", `${key} by ${out}`).toBe(true);
            tried.add(code).add(out);
          }
        }
      }
    }),
    { ...seeded, numRuns: 250 },
  );
  for (const word of [
    "negative_balance", "date_clamped", "duplicate_id", "code_on_two", "lot_elsewhere", "no_origin",
    "sums_differ", "check_disagrees", "counts_differ", "emptied_with_stock", "unassigned_loss",
    "not_allowed", "bad_correction", "unknown_code", "promised_short",
    "accept", "void", "recount", "there_were_more", "found", "move_here", "move_back", "label",
    "count_too", "correct",
  ]) {
    expect([...tried]).toContain(word);
  }
});

test("a way out that is not offered is refused", () => {
  expect(() => waysOut(new Fold(), "no_origin:x", "found", { today: "2027-01-01" })).toThrow(NoWayOut);
});
