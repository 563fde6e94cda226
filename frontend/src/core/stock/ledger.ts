/**
 * What each kind of entry posts, computed from its own body alone, so that sums never
 * depend on order. Only `counted` (and `emptied`, a count of nothing) is absolute: it
 * posts the difference to the balance at its place in the order, which the lot's own
 * history works out.
 */
import { lotLines, remembered, sumOf, type Act, type ActBody, type Counts, type FromLine, type IntoLine } from "./acts.ts";
import { compareTexts } from "./entries.ts";

export const IN: ReadonlySet<string> = new Set([
  "dug", "divided", "bought", "found", "returned", "struck", "rooted", "potted", "graded", "transfer_in",
]);

/** A signed amount on one account of one lot. `unit` "" means the lot's own unit. */
export interface Amount {
  lot: string;
  account: string;
  amount: number;
  stage: string;
  cause: string;
  how: string;
  unit: string;
}

type More = Partial<Pick<Amount, "stage" | "cause" | "how" | "unit">>;

export function amountOf(lot: string, account: string, amount: number, more: More = {}): Amount {
  return { lot, account, amount, stage: "", cause: "", how: "", unit: "", ...more };
}

/** All amounts that an entry posts by itself; kinds that move no stock post nothing. */
export function postings(act: Act): Amount[] {
  return remembered(act, "postings", workOut);
}

function workOut({ kind, body }: Act): Amount[] {
  return (POSTERS[kind]?.(body) ?? []).filter((line) => line.amount !== 0);
}

function thrown(lot: string, counts: Counts | undefined, stage: string, unit = ""): Amount[] {
  return Object.entries(counts ?? {})
    .sort(([a], [b]) => compareTexts(a, b))
    .map(([cause, count]) => amountOf(lot, "thrown_out", -count, { stage, cause, unit }));
}

/** Stock taken from lots: what was thrown out while at it, and the rest to `account`. */
function taken(lines: FromLine[] | undefined, account: string, stage: string): Amount[] {
  return (lines ?? []).flatMap((line) => [
    ...thrown(line.lot, line.thrown_out, stage),
    amountOf(line.lot, account, -leftOf(line)),
  ]);
}

function given(lines: IntoLine[] | undefined, account: string): Amount[] {
  return (lines ?? []).map((line) => amountOf(line.lot, account, line.count));
}

/** How many a line hands on: its count less what was thrown out. */
export function leftOf(line: FromLine): number {
  return line.count - sumOf(line.thrown_out);
}

/** Tubers thrown out at the bench: they came off this lot and never were in any other. */
function discarded(body: ActBody, account: string): Amount[] {
  const total = sumOf(body.discarded);
  const lot = body.from?.[0]?.lot;
  if (total === 0 || lot === undefined) return [];
  return [
    amountOf(lot, account, total, { unit: "tuber" }),
    ...thrown(lot, body.discarded, "bench", "tuber"),
  ];
}

/**
 * A transfer: what one side hands on the other receives, and what the counts differ by
 * is posted as a difference on the lots taken from, so that no tuber appears or goes in
 * silence.
 */
function handedOn(from: FromLine[], into: IntoLine[], stage: string): Amount[] {
  let rest = into.reduce((sum, line) => sum + line.count, 0);
  const taking = from.flatMap((line, i) => {
    const left = leftOf(line);
    const handed = i === from.length - 1 ? rest : Math.max(0, Math.min(left, rest));
    rest -= handed;
    return [
      ...thrown(line.lot, line.thrown_out, stage),
      amountOf(line.lot, "transfer_out", -handed),
      amountOf(line.lot, "difference", handed - left),
    ];
  });
  return [...taking, ...given(into, "transfer_in")];
}

function packed(body: ActBody): Amount[] {
  const lots = lotLines(body);
  const from = body.from ?? [];
  return from.length === 0 ? given(lots, "found") : handedOn(from, lots, "drying");
}

function divided(account: string): (body: ActBody) => Amount[] {
  return (body) => [
    ...taken(body.from, "used_up", "bench"),
    ...given(body.into, account),
    ...discarded(body, account),
  ];
}

function grownOn(account: string): (body: ActBody) => Amount[] {
  return (body) => [...taken(body.from, "used_up", "spring"), ...given(body.into, account)];
}

function comingIn(account: string): (body: ActBody) => Amount[] {
  return (body) => [amountOf(body.lot ?? "", account, body.count ?? 0)];
}

const POSTERS: Readonly<Record<string, (body: ActBody) => Amount[]>> = {
  dug: (body) => given(lotLines(body), "dug"),
  divided: divided("divided"),
  graded: divided("graded"),
  split: (body) => handedOn(body.from ?? [], body.into ?? [], "store"),
  packed,
  checked: (body) => (body.lines ?? []).flatMap((line) => thrown(line.lot, line.removed, "store")),
  found: comingIn("found"),
  bought: comingIn("bought"),
  returned: comingIn("returned"),
  gone_out: (body) => [amountOf(body.lot ?? "", "gone_out", -(body.count ?? 0), { how: body.how ?? "" })],
  woken: (body) => thrown(body.lot ?? "", body.thrown_out, "spring"),
  planted: (body) => taken(body.from, "planted", "spring"),
  struck: (body) => given(body.into, "struck"),
  rooted: grownOn("rooted"),
  potted: grownOn("potted"),
};
