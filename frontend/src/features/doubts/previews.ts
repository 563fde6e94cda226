/** What a button will do to the counts, before it is pressed. Pure. */
import type { StockState } from "../../core/stock/state.ts";
import { leastRole, mayWrite } from "../../core/sync/rights.ts";
import type { Kind, Role } from "../../core/stock/kinds.ts";
import type { LotChange } from "../../sync/session.ts";
import { lotName } from "../../app/lot-words.ts";
import { crateName } from "../../app/names.ts";
import { signed } from "./sums.ts";

const small = (words: string): string => words.replace(/^Crate/, "crate");
/** More lots than this are told as a number. */
const MOST = 3;

/**
 * "Afterwards 14, now −2." for the batch in question; others by name. "The count stays at 6."
 * when nothing changes for a batch that is in question.
 */
export function previewSays(changes: readonly LotChange[], stock: StockState, lot = ""): string {
  const sorted = [...changes].sort((a, b) => Number(b.lot === lot) - Number(a.lot === lot));
  const said = sorted.slice(0, MOST).map((change) => changeSays(change, stock, lot));
  if (sorted.length > MOST) said.push(`${sorted.length - MOST} more batches change.`);
  const stays = stock.lots[lot];
  if (stays && !changes.some((one) => one.lot === lot)) said.unshift(`The count stays at ${signed(stays.balance)}.`);
  return said.join(" ");
}

function changeSays({ lot: id, before, after, from, to }: LotChange, stock: StockState, lot: string): string {
  const name = id === lot ? "" : `${lotName(stock, id)}: `;
  const count = before === after ? "" : `Afterwards ${signed(after)}, now ${signed(before)}.`;
  const where = (crate: string): string => (crate ? small(crateName(stock, crate)) : "no crate");
  // A batch that is no more lies nowhere: its count says so.
  const moved = from === to || (after === 0 && before !== 0) ? "" : `From ${where(from)} to ${where(to)}.`;
  const said = [count, moved].filter(Boolean).join(" ");
  return name ? name + said.charAt(0).toLowerCase() + said.slice(1) : said;
}

/** Whether somebody of this role may write all of it; if not, who may: "A grower or the owner can do this." */
export function whoCan(kinds: readonly Kind[], role: Role): { may: true } | { may: false; sentence: string } {
  const refused = kinds.filter((kind) => !mayWrite(kind, role));
  if (refused.length === 0) return { may: true };
  const needed = refused.map((kind) => leastRole(kind) ?? "owner");
  if (needed.includes("owner")) return { may: false, sentence: "An owner can do this." };
  return { may: false, sentence: needed.includes("grower") ? "A grower or an owner can do this." : "Somebody who may write entries can do this." };
}

/** A helper's change of what somebody else wrote does not count by itself. */
export function waitsForGrower(entry: { author: string }, author: string, role: Role): boolean {
  return role === "helper" && entry.author !== author;
}
