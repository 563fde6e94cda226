/** Where every tuber of a lot came from and went: two columns that add up to what is in it now. */
import type { Lot } from "../../core/stock/state.ts";

const CAME = ["dug", "divided", "bought", "found", "returned", "struck", "rooted", "potted", "graded", "transfer_in"];
const WENT = ["thrown_out", "gone_out", "planted", "used_up", "transfer_out"];

export interface AccountWords {
  account: Record<string, string>;
  causes: Record<string, string>;
  ways: Record<string, string>;
  stages: Record<string, string>;
}

export interface AccountLine {
  account: string;
  label: string;
  count: number;
  /** "2 rot, 1 dried up in store" */
  note: string;
}

export interface Accounts {
  came: AccountLine[];
  went: AccountLine[];
  cameTotal: number;
  wentTotal: number;
  balance: number;
  /** cameTotal − wentTotal = balance */
  addsUp: boolean;
}

function lower(words: string): string {
  return words.charAt(0).toLowerCase() + words.slice(1);
}

function thrownNote(lot: Lot, words: AccountWords): string {
  return Object.entries(lot.thrown)
    .map(([stage, causes]) => {
      const said = Object.entries(causes).map(([cause, count]) => `${count} ${lower(words.causes[cause] ?? cause)}`);
      return `${said.join(", ")} ${words.stages[stage] ?? stage}`;
    })
    .join("; ");
}

function outNote(lot: Lot, words: AccountWords): string {
  return Object.entries(lot.out)
    .map(([how, count]) => `${count} ${lower(words.ways[how] ?? how)}`)
    .join(", ");
}

/** The two sides of a lot's book. Counts are of the lot's own unit; no line is zero. */
export function accountsOf(lot: Lot, words: AccountWords): Accounts {
  const line = (account: string, count: number, note = ""): AccountLine => ({
    account,
    label: words.account[account] ?? account.replaceAll("_", " "),
    count,
    note,
  });
  const came = CAME.flatMap((account) => (lot.accounts[account] ? [line(account, lot.accounts[account])] : []));
  const went = WENT.flatMap((account) => {
    const count = lot.accounts[account];
    if (!count) return [];
    const note = account === "thrown_out" ? thrownNote(lot, words) : account === "gone_out" ? outNote(lot, words) : "";
    return [line(account, count, note)];
  });
  const difference = lot.accounts["difference"] ?? 0;
  if (difference > 0) came.push(line("more", difference));
  if (difference < 0) went.push(line("missing", -difference));
  const cameTotal = came.reduce((sum, one) => sum + one.count, 0);
  const wentTotal = went.reduce((sum, one) => sum + one.count, 0);
  return { came, went, cameTotal, wentTotal, balance: lot.balance, addsUp: cameTotal - wentTotal === lot.balance };
}
