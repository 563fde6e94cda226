/**
 * Which entries count, and how they read now: voids, corrections, rights, double ids,
 * set-aside entries.
 *
 * Whether an entry counts depends only on entries that name its hash, or accept the
 * problem that carries its hash. A hash cannot be named by what it covers, so this never
 * goes in circles.
 */
import { Library, type Shelf, type Trail } from "../shelf/library.ts";
import type { Act } from "./acts.ts";
import { NO_STAMP } from "../sync/stamp.ts";
import { refusals } from "../sync/validate.ts";
import { compareTexts, orderKey, placeInFeed, type Body, type Entry } from "./entries.ts";
import { isAtLeast, rankOf } from "./kinds.ts";
import { knownFields } from "./known-fields.ts";
import { NO_PROBLEMS, problem, type Found } from "./problems.ts";

export const MENDING: ReadonlySet<string> = new Set([
  "record_corrected", "record_voided", "problem_accepted", "held_resolved", "record_reclassified",
]);
export const NOT_ALLOWED = "not_allowed:";

/** Fields of the mending kinds. */
export interface MendBody {
  target?: string;
  problem?: string;
  decision?: string;
  as_kind?: string;
  as_v?: number;
  as_body?: Body;
  body?: Body;
  occurred_on?: string;
}

export function mendBody(entry: Entry): MendBody {
  return entry.body;
}

/** What an entry says after its corrections, and the date it cannot lie after. */
export interface Told {
  kind: string;
  v: number;
  body: Body;
  occurred_on: string;
  noLaterThan: string;
}

interface Decision {
  kind: string;
  v: number;
  body: Body;
}

const NONE: ReadonlySet<string> = new Set();

/**
 * All entries of a farm, and for each whether and how it counts. `add` returns the hashes
 * whose standing may have changed; `act` is the entry as it counts.
 */
export class Living {
  readonly entries: Shelf<Entry>;
  /** The hashes of all entries that bear an id. */
  private readonly byId: Trail;
  private readonly byTarget: Trail;
  private readonly accepts: Trail;
  private readonly alive = new Map<string, boolean>();

  constructor(library = new Library()) {
    this.entries = library.shelf("entries");
    this.byId = library.trail("entries by id");
    this.byTarget = library.trail("mendings by target");
    this.accepts = library.trail("acceptances by problem");
  }

  /** Lets go of what can be found out again. */
  settle(): void {
    this.alive.clear();
  }

  /** Takes an entry in, or its newer standing in the feed; adds every hash it may touch. */
  add(entry: Entry, touched: Set<string>): void {
    const { sha256, id } = entry;
    const known = this.entries.get(sha256);
    if (known !== undefined && sameStanding(known, entry)) return;
    if (known !== undefined) this.forget(sha256, touched);
    // The same bytes say the same: one body object for both standings.
    this.entries.set(sha256, known === undefined ? entry : { ...entry, body: known.body });
    if (known === undefined && id !== "") this.byId.append(id, sha256);
    if (isMend(entry)) this.indexMend(entry);
    this.forget(sha256, touched);
    const same = this.byId.get(id);
    if (same !== undefined && same.size > 1) for (const sha of same) this.forget(sha, touched);
  }

  private indexMend(entry: Entry): void {
    const { target, problem: accepted } = mendBody(entry);
    if (target) this.byTarget.add(target, entry.sha256);
    if (accepted) this.accepts.add(accepted, entry.sha256);
  }

  /** What was found out about an entry, and about all that it mends, has to be judged anew. */
  private forget(sha: string, touched: Set<string>): void {
    const entry = this.entries.get(sha);
    if (entry === undefined || !isMend(entry)) {
      this.alive.delete(sha);
      touched.add(sha);
      return;
    }
    const now = new Set<string>();
    this.addDownstream(sha, now);
    for (const one of now) {
      this.alive.delete(one);
      touched.add(one);
    }
  }

  /** The hash, what it mends, what that mends, and so on. */
  private addDownstream(sha: string, seen: Set<string>): void {
    const todo = [sha];
    for (let one = todo.pop(); one !== undefined; one = todo.pop()) {
      if (seen.has(one)) continue;
      seen.add(one);
      const entry = this.entries.get(one);
      if (entry === undefined || !isMend(entry)) continue;
      const { target, problem: accepted } = mendBody(entry);
      if (target) todo.push(target);
      if (accepted?.startsWith(NOT_ALLOWED)) todo.push(accepted.slice(NOT_ALLOWED.length));
    }
  }

  /** The hashes, and those of entries that mend them, and so on. */
  mendsUpward(shas: Iterable<string>): Set<string> {
    const seen = new Set(shas);
    const todo: string[] = [];
    for (const sha of seen) todo.push(...(this.byTarget.get(sha) ?? NONE));
    for (let one = todo.pop(); one !== undefined; one = todo.pop()) {
      if (seen.has(one)) continue;
      seen.add(one);
      todo.push(...(this.byTarget.get(one) ?? NONE));
    }
    return seen;
  }

  /** Whether the entry is here, readable, the first of its id, and not voided. */
  isAlive(sha: string): boolean {
    const known = this.alive.get(sha);
    if (known !== undefined) return known;
    const todo = [sha];
    for (let one = todo.at(-1); one !== undefined; one = todo.at(-1)) {
      if (this.alive.has(one)) {
        todo.pop();
        continue;
      }
      const waiting = this.dependsOn(one).filter((dep) => !this.alive.has(dep));
      if (waiting.length > 0) {
        todo.push(...waiting);
      } else {
        this.alive.set(one, this.judge(one));
        todo.pop();
      }
    }
    return this.alive.get(sha) ?? false;
  }

  private dependsOn(sha: string): string[] {
    const targets = this.byTarget.get(sha);
    const accepted = this.accepts.get(NOT_ALLOWED + sha);
    if (targets === undefined && accepted === undefined) return [];
    return [...(targets ?? NONE), ...(accepted ?? NONE)];
  }

  private judge(sha: string): boolean {
    const entry = this.entries.get(sha);
    if (entry === undefined || this.firstOfId(entry) !== sha) return false;
    if (entry.held !== "" && this.decision(entry) === null) return false;
    return !this.mends(sha, "record_voided").some((mend) => this.applies(mend, entry));
  }

  private mends(sha: string, kind: string): Entry[] {
    const found: Entry[] = [];
    for (const one of this.byTarget.get(sha) ?? NONE) {
      const entry = this.entries.get(one);
      if (entry?.kind === kind) found.push(entry);
    }
    return found;
  }

  private firstOfId(entry: Entry): string {
    const same = this.byId.get(entry.id);
    return same !== undefined && same.size > 1 ? this.earliest(same) : entry.sha256;
  }

  /** The hash that stands first in the feed, or "". */
  private earliest(shas: Iterable<string>): string {
    let first: Entry | undefined;
    for (const sha of shas) {
      const entry = this.entries.get(sha);
      if (entry !== undefined && (first === undefined || inFeed(entry, first) < 0)) first = entry;
    }
    return first?.sha256 ?? "";
  }

  private applies(mend: Entry, target: Entry): boolean {
    return this.isAlive(mend.sha256) && this.isAllowed(mend, target);
  }

  /** A helper mends what she wrote herself; more needs a grower, before or after. */
  private isAllowed(mend: Entry, target: Entry): boolean {
    if (isAtLeast(mend.role, "grower")) return true;
    return mend.author === target.author || this.accepted(NOT_ALLOWED + mend.sha256) !== "";
  }

  /** The hash of the first living entry that accepts this problem, or "". */
  accepted(problemKey: string): string {
    const accepts = this.accepts.get(problemKey);
    return accepts === undefined ? "" : this.earliest([...accepts].filter((sha) => this.isAlive(sha)));
  }

  /** Kind, version and body with which an entry that was set aside counts after all. */
  private decision(entry: Entry): Decision | null {
    const decided = [
      ...this.mends(entry.sha256, "held_resolved"),
      ...this.mends(entry.sha256, "record_reclassified"),
    ].filter((mend) => this.isAlive(mend.sha256));
    const last = decided.reduce<Entry | undefined>(
      (best, mend) => (best === undefined || inFeed(mend, best) > 0 ? mend : best),
      undefined,
    );
    if (last === undefined) return null;
    const told = mendBody(last);
    if (last.kind === "held_resolved" && told.decision !== "accept") return null;
    const kind = told.as_kind ?? entry.kind;
    const v = told.as_v ?? (kind === entry.kind ? entry.v : 1);
    const body = told.as_body ?? entry.body;
    if (MENDING.has(kind) || !isValid(kind, v, body)) return null;
    return { kind, v, body };
  }

  /** The entry as it reads now, with every field its writers gave it; null if it does not count. */
  reading(sha: string): Told | null {
    if (!this.isAlive(sha)) return null;
    const entry = this.entries.get(sha);
    if (entry === undefined) return null;
    const decision = entry.held === "" ? entry : this.decision(entry);
    if (decision === null || MENDING.has(decision.kind) || rankOf(decision.kind) === undefined) return null;
    const { kind, v, body } = decision;
    const correction = this.correction(entry, kind, v);
    if (correction === null) {
      return { kind, v, body, occurred_on: entry.occurred_on, noLaterThan: entry.received_on };
    }
    const told = mendBody(correction);
    return {
      kind,
      v: told.as_v ?? v,
      body: told.body ?? {},
      occurred_on: told.occurred_on ?? entry.occurred_on,
      noLaterThan: later(entry.received_on, correction.received_on),
    };
  }

  /** The entry as it counts now; undefined when it does not count or only mends others. */
  act(sha: string): Act | undefined {
    const told = this.reading(sha);
    const entry = this.entries.get(sha);
    return told === null || entry === undefined ? undefined : actFrom(entry, told);
  }

  /** Whether the entry counts as it stands, and nothing else says anything of it. */
  isPlain(sha: string): boolean {
    const entry = this.entries.get(sha);
    if (entry === undefined || plainReading(entry) === null || this.byTarget.has(sha)) return false;
    return (this.byId.get(entry.id)?.size ?? 0) < 2;
  }

  /** Corrections of an entry, and corrections of those. */
  private corrections(sha: string): Entry[] {
    const found: Entry[] = [];
    const seen = new Set([sha]);
    const todo = [sha];
    for (let one = todo.pop(); one !== undefined; one = todo.pop()) {
      for (const mend of this.mends(one, "record_corrected")) {
        if (seen.has(mend.sha256)) continue;
        seen.add(mend.sha256);
        todo.push(mend.sha256);
        found.push(mend);
      }
    }
    return found;
  }

  /** The latest living correction that is allowed and fits the kind. */
  private correction(entry: Entry, kind: string, v: number): Entry | null {
    if (!this.byTarget.has(entry.sha256)) return null;
    let best: Entry | null = null;
    for (const mend of this.corrections(entry.sha256)) {
      const { target = "", as_v = v, body } = mendBody(mend);
      const above = this.entries.get(target);
      if (above === undefined || !this.applies(mend, above) || !isValid(kind, as_v, body)) continue;
      if (best === null || isLaterCorrection(mend, best)) best = mend;
    }
    return best;
  }

  /** Problems of one entry: a double id, or a mending that cannot be done. */
  trouble(sha: string): Found {
    const entry = this.entries.get(sha);
    if (entry === undefined) return NO_PROBLEMS;
    const first = this.firstOfId(entry);
    if (first !== sha) {
      const outs = entry.held === "" ? ["count_too", "accept"] : ["accept"];
      return new Map([[`duplicate_id:${sha}`, problem("duplicate_id", [first, sha], { outs })]]);
    }
    if (!MENDING.has(entry.kind)) return NO_PROBLEMS;
    const { target } = mendBody(entry);
    if (target === undefined || !this.isAlive(sha)) return NO_PROBLEMS;
    return this.mendingTrouble(entry, target);
  }

  private mendingTrouble(entry: Entry, target: string): Found {
    const sha = entry.sha256;
    const voidable = [sha];
    const mended = this.entries.get(target);
    if (mended === undefined) {
      const found = problem("target_missing", [sha], { outs: ["void", "accept"], voidable });
      return new Map([[`target_missing:${sha}`, found]]);
    }
    const isVoidOrCorrection = entry.kind === "record_voided" || entry.kind === "record_corrected";
    if (isVoidOrCorrection && !this.isAllowed(entry, mended)) {
      const found = problem("not_allowed", [target, sha], { outs: ["accept", "void"], voidable });
      return new Map([[NOT_ALLOWED + sha, found]]);
    }
    if (entry.kind === "record_corrected" && !this.fits(entry)) {
      const found = problem("bad_correction", [target, sha], { outs: ["void", "accept"], voidable });
      return new Map([[`bad_correction:${sha}`, found]]);
    }
    return NO_PROBLEMS;
  }

  private fits(mend: Entry): boolean {
    let root = mend;
    while (root.kind === "record_corrected" && root.held === "") {
      const above = this.entries.get(mendBody(root).target ?? "");
      if (above === undefined) return true;
      root = above;
    }
    if (MENDING.has(root.kind)) return false;
    const { as_v = root.v, body } = mendBody(mend);
    return isValid(root.kind, as_v, body);
  }
}

function isValid(kind: string, v: number, body: unknown): boolean {
  return refusals(kind, v, body).length === 0;
}

function isMend(entry: Entry): boolean {
  return entry.held === "" && MENDING.has(entry.kind);
}

function inFeed(a: Entry, b: Entry): number {
  return placeInFeed(a) - placeInFeed(b) || compareTexts(a.sha256, b.sha256);
}

function isLaterCorrection(a: Entry, b: Entry): boolean {
  const order =
    placeInFeed(a) - placeInFeed(b) || a.device_seq - b.device_seq || compareTexts(a.sha256, b.sha256);
  return order > 0;
}

function later(a: string, b: string): string {
  return a > b ? a : b;
}

/** Whether the feed says the same of two entries with the same bytes. */
function sameStanding(a: Entry, b: Entry): boolean {
  return (
    a.seq === b.seq &&
    a.held === b.held &&
    a.received_at === b.received_at &&
    a.received_on === b.received_on &&
    a.recorded_on === b.recorded_on &&
    a.role === b.role &&
    a.stamp?.[0] === b.stamp?.[0] &&
    a.stamp?.[1] === b.stamp?.[1]
  );
}

/** How the entry reads when nothing else says anything of it; null when it does not count by itself. */
export function plainReading(entry: Entry): Told | null {
  const { kind, v, body, occurred_on, received_on } = entry;
  if (entry.held !== "" || MENDING.has(kind) || rankOf(kind) === undefined) return null;
  return { kind, v, body, occurred_on, noLaterThan: received_on };
}

/** The entry as an act, read this way. */
export function actFrom(entry: Entry, told: Told): Act {
  const key = orderKey(entry, rankOf(told.kind) ?? 0, told.occurred_on, told.noLaterThan);
  return {
    sha256: entry.sha256,
    kind: told.kind,
    body: knownFields(told.kind, told.v, told.body),
    on: key[0],
    key,
    clamped: key[0] < told.occurred_on,
    author: entry.author,
    device: entry.device,
    seq: placeInFeed(entry),
    role: entry.role,
    stamp: entry.stamp ?? NO_STAMP,
    source: told.body,
    v: told.v,
  };
}
