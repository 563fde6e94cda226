/** What an amount of a sum is called: "packed", "sold", "rot". */
import { w } from "../../app/words/index.svelte.ts";
import type { Step } from "./sums.ts";

const lower = (words: string): string => words.charAt(0).toLowerCase() + words.slice(1);

const ACCOUNTS: Record<string, () => string> = {
  dug: () => w.dug,
  divided: () => "divided",
  bought: () => "bought",
  found: () => "found",
  returned: () => "came back",
  struck: () => "cuttings taken",
  rooted: () => "rooted",
  potted: () => "potted",
  graded: () => "sorted again",
  transfer_in: () => "moved over from another batch",
  transfer_out: () => "moved over to another batch",
  planted: () => "planted",
  used_up: () => "used up",
  difference: () => "by a count",
};
/** By the kind of entry where that says more than the account. */
const KINDS: Record<string, string> = { packed: "packed", split: "split off", emptied: "found empty" };

export function termOf(find: (sha: string) => { kind: string } | undefined): (step: Step) => string {
  return ({ record, account, cause, how }) => {
    if (account === "thrown_out") return lower(w.causes[cause] ?? cause.replaceAll("_", " "));
    if (account === "gone_out") return lower(w.ways[how] ?? "went out");
    const kind = find(record)?.kind ?? "";
    return KINDS[kind] ?? ACCOUNTS[account]?.() ?? account.replaceAll("_", " ");
  };
}
