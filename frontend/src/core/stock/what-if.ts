/**
 * What the book would say after entries that nobody has written yet, and how it came to what it
 * says now. Asked before a button is pressed, so that it can say what it will do.
 */
import { lotIds } from "./acts.ts";
import type { Entry } from "./entries.ts";
import { Fold } from "./fold.ts";
import { postings } from "./ledger.ts";
import { mendBody, NOT_ALLOWED, type Living } from "./living.ts";
import type { Posting } from "./state.ts";
import { partsOf, thingsOf } from "./things.ts";
import type { Way } from "./ways-out.ts";

/** Who would write, and when. */
export interface Hand {
  author: string;
  role: string;
  device: string;
  /** ms UTC */
  now: number;
  today: string;
}

/** A lot whose count or container changes; in the lot's own unit. */
export interface LotChange {
  lot: string;
  before: number;
  after: number;
  /** Crate ids, "" for none. */
  from: string;
  to: string;
}

/** The lots that these entries would change, by id; none of them is written. */
export function whatIf(fold: Fold, drafts: readonly Way[], hand: Hand): LotChange[] {
  const supposed = drafts.map((draft, i) => suppose(draft, i, hand));
  const roots = rootsOf(fold, supposed);
  const lots = new Set<string>();
  const near = copyOf(fold, roots);
  for (const sha of roots) addLots(near.living, sha, lots);
  near.apply(supposed);
  for (const sha of [...roots, ...supposed.map((one) => one.sha256)]) addLots(near.living, sha, lots);

  const shas = new Set(roots);
  for (const lot of lots) for (const act of fold.index.of("lot", lot)) shas.add(act.sha256);
  const then = copyOf(fold, shas);
  then.apply(supposed);
  return [...lots].sort().flatMap((lot) => {
    const [old, now] = [fold.state().lots[lot], then.state().lots[lot]];
    const change = { lot, before: old?.balance ?? 0, after: now?.balance ?? 0, from: old?.container ?? "", to: now?.container ?? "" };
    return change.before === change.after && change.from === change.to ? [] : [change];
  });
}

/** The amounts posted to a lot in its own unit, in the order of its history. */
export function postedTo(fold: Fold, lot: string): Posting[] {
  const rows = fold.postingsOf(lot);
  const unit = fold.state().lots[lot]?.unit;
  return fold.index.of("lot", lot).flatMap((act) => {
    const most = Math.max(postings(act).length, lotIds(act.body).length, 1);
    const found: Posting[] = [];
    for (let i = 0; i < most; i += 1) {
      const row = rows.get(`${act.sha256}:${i}`);
      if (row?.lot === lot && row.unit === unit) found.push(row);
    }
    return found;
  });
}

function suppose({ kind, body, occurred_on }: Way, i: number, hand: Hand): Entry {
  return {
    sha256: `supposed ${i}`,
    seq: null,
    id: "",
    device: hand.device,
    device_seq: Number.MAX_SAFE_INTEGER - 100 + i,
    author: hand.author,
    kind,
    v: 1,
    occurred_on,
    recorded_at: hand.now + i,
    body,
    held: "",
    received_at: hand.now + i,
    received_on: hand.today,
    recorded_on: hand.today,
    stamp: null,
    role: hand.role,
  };
}

/** What the entries mend, what that mends, and so on. */
function rootsOf(fold: Fold, supposed: readonly Entry[]): Set<string> {
  const roots = new Set<string>();
  const todo = supposed.flatMap(mendedBy);
  for (let sha = todo.pop(); sha !== undefined; sha = todo.pop()) {
    const entry = fold.living.entries.get(sha);
    if (entry === undefined || roots.has(sha)) continue;
    roots.add(sha);
    todo.push(...mendedBy(entry));
  }
  return roots;
}

function mendedBy(entry: Entry): string[] {
  const { target, problem } = mendBody(entry);
  const accepted = entry.kind === "problem_accepted" && problem?.startsWith(NOT_ALLOWED);
  if (accepted) return [problem?.slice(NOT_ALLOWED.length) ?? ""];
  return typeof target === "string" && /^[0-9a-f]{64}$/.test(target) ? [target] : [];
}

/** A fold of these entries, of all that mends them, and of what lets a mending count. */
function copyOf(fold: Fold, shas: ReadonlySet<string>): Fold {
  const all = fold.living.mendsUpward(shas);
  for (const sha of [...all]) {
    const accepted = fold.problem(NOT_ALLOWED + sha)?.accepted;
    if (accepted) for (const one of fold.living.mendsUpward([accepted])) all.add(one);
  }
  const copy = new Fold();
  copy.apply([...all].flatMap((sha) => fold.living.entries.get(sha) ?? []));
  return copy;
}

/** Lots that an entry is about, the way it counts. */
function addLots(living: Living, sha: string, lots: Set<string>): void {
  const act = living.act(sha);
  for (const thing of act === undefined ? [] : thingsOf(act)) {
    const [sort, key] = partsOf(thing);
    if (sort === "lot") lots.add(key);
  }
}
