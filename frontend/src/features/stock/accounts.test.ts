import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { Lot } from "../../core/stock/state.ts";
import { accountsOf, type AccountWords } from "./accounts.ts";

const words: AccountWords = {
  account: { divided: "divided", thrown_out: "thrown out", missing: "not accounted for", more: "found at a count" },
  causes: { rot: "Rot", dried_up: "Dried up" },
  ways: { sold: "Sold" },
  stages: { store: "in store", bench: "at the bench" },
};
const lot = (more: Partial<Lot>): Lot => ({ accounts: {}, thrown: {}, out: {}, balance: 0, ...more }) as Lot;

describe("a lot's book", () => {
  it("names causes with the place of the loss", () => {
    const book = accountsOf(
      lot({ accounts: { divided: 14, thrown_out: 3 }, thrown: { store: { rot: 2 }, bench: { dried_up: 1 } }, balance: 11 }),
      words,
    );
    expect(book.went).toEqual([
      { account: "thrown_out", label: "thrown out", count: 3, note: "2 rot in store; 1 dried up at the bench" },
    ]);
    expect(book.addsUp).toBe(true);
  });
  it("puts a count below the book on the side of what went, and above it on the other", () => {
    expect(accountsOf(lot({ accounts: { divided: 5, difference: -2 }, balance: 3 }), words).went[0]?.label).toBe("not accounted for");
    expect(accountsOf(lot({ accounts: { divided: 5, difference: 2 }, balance: 7 }), words).came[1]?.label).toBe("found at a count");
  });
  it("adds up exactly when the signed accounts make the balance", () => {
    const names = ["dug", "divided", "transfer_in", "thrown_out", "gone_out", "planted", "used_up", "transfer_out"];
    const out = new Set(["thrown_out", "gone_out", "planted", "used_up", "transfer_out"]);
    fc.assert(
      fc.property(
        fc.dictionary(fc.constantFrom(...names), fc.nat(500)),
        fc.integer({ min: -20, max: 20 }),
        fc.integer({ min: -1, max: 1 }),
        (accounts, difference, slip) => {
          const true_balance = Object.entries(accounts).reduce((sum, [name, n]) => sum + (out.has(name) ? -n : n), difference);
          const book = accountsOf(lot({ accounts: { ...accounts, difference }, balance: true_balance + slip }), words);
          expect(book.addsUp).toBe(slip === 0);
        },
      ),
    );
  });
});
