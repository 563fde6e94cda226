/** A lot's entries read one after the other: amounts, doubts and the page they make. */
import type { Act } from "./acts.ts";
import type { Birth } from "./facts.ts";
import type { OrderKey } from "./entries.ts";
import { amountOf, type Amount } from "./ledger.ts";
import type { Lot, Posting, Problem } from "./state.ts";

export class Book {
  balance = 0;
  readonly rows = new Map<string, Posting>();
  readonly births: { act: Act; birth: Birth }[] = [];
  readonly doubts = new Map<string, { key: string; found: Problem }>();
  lastCount: Act | null = null;
  /** The place in the order of the last count: what came before it is settled. */
  basis: OrderKey | null = null;
  readonly order = new Map<string, OrderKey>();
  container = "";

  constructor(
    readonly lot: string,
    readonly unit: string,
    readonly page: Lot,
  ) {}

  /** Puts one amount into the book; nothing is posted for none. */
  post(act: Act, i: number, line: Amount): void {
    if (line.amount === 0) return;
    this.order.set(act.sha256, act.key);
    this.rows.set(`${act.sha256}:${i}`, {
      record: act.sha256,
      lot: this.lot,
      unit: line.unit || this.unit,
      account: line.account,
      amount: line.amount,
      stage: line.stage,
      cause: line.cause,
      how: line.how,
      on: act.on,
    });
    if (line.unit === "") this.balance += line.amount;
  }

  /** What a count found more or less than the book. */
  postDifference(act: Act, i: number, amount: number, cause: string): void {
    this.post(act, i, amountOf(this.lot, "difference", amount, { cause }));
  }

  /** A contradiction of this sort; a later one of the sort takes its place. */
  doubt(sort: string, key: string, found: Problem): void {
    this.doubts.set(sort, { key, found });
  }

  /** A later entry makes contradictions of these sorts pointless. */
  settle(...sorts: string[]): void {
    for (const sort of sorts) this.doubts.delete(sort);
  }

  /** The rows in the lot's own unit; discards at the bench are counted apart. */
  *ownRows(): Generator<Posting> {
    for (const row of this.rows.values()) if (row.unit === this.unit) yield row;
  }
}
