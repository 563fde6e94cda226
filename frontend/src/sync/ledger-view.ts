/** The entries of a farm, found by date, by thing and by how far they got. */
import type { Library, Shelf, Trail } from "../core/shelf/library.ts";
import type { Entry } from "../core/stock/entries.ts";
import type { RecordRow } from "../store/rows.ts";
import type { LocalEntry } from "./session-types.ts";

const NAME = /^(?:[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}|[0-9A-HJKMNP-TV-Z]{8})$/;

/** The entries themselves lie with the fold; this holds in which order and under what they are found. */
export class LedgerView {
  private readonly onDate: Trail;
  /** Entries that a correction put on this day, and corrections that one put there. */
  private readonly movedTo: Trail;
  private readonly naming: Trail;
  private readonly relayed: Shelf<string>;
  /** What is not settled: where it stands, and why it is stuck. */
  private readonly open = new Map<string, Pick<RecordRow, "due" | "stuck">>();

  constructor(
    library: Library,
    private readonly entries: { get: (sha: string) => Entry | undefined; has: (sha: string) => boolean },
  ) {
    this.onDate = library.trail("entries by date");
    this.movedTo = library.trail("entries dated anew");
    this.naming = library.trail("entries by name");
    this.relayed = library.shelf("relayed by");
  }

  /** To be told of a row before the fold takes its entry in. */
  put(row: RecordRow, entry: Entry): void {
    const { sha } = row;
    this.putStanding(row);
    if (row.relayed_by !== null) this.relayed.set(sha, row.relayed_by);
    if (this.entries.has(sha)) return;
    this.onDate.append(entry.occurred_on, sha);
    const { target, occurred_on } = entry.body;
    if (entry.kind === "record_corrected" && typeof target === "string" && typeof occurred_on === "string") {
      this.movedTo.append(occurred_on, target);
    }
    for (const name of namesIn(entry.body)) this.naming.append(name, sha);
  }

  /** How far the entry of a row has got. */
  putStanding({ sha, due, stuck }: RecordRow): void {
    if (due === undefined) this.open.delete(sha);
    else this.open.set(sha, { due, ...(stuck === undefined ? {} : { stuck }) });
  }

  get(sha: string): LocalEntry | undefined {
    const entry = this.entries.get(sha);
    if (entry === undefined) return undefined;
    const { due, stuck } = this.open.get(sha) ?? {};
    const { id, seq, kind, v, body, occurred_on, recorded_at, author, device, role } = entry;
    return {
      sha, id, seq, kind, v, body, occurred_on, recorded_at, author, device, role,
      held: entry.held === "" ? null : entry.held,
      status: due === "stuck" ? "stuck" : due === undefined ? "safe" : "here",
      relayed_by: this.relayed.get(sha) ?? null,
      received_at: seq === null ? null : entry.received_at,
      ...(stuck === undefined ? {} : { stuck }),
    };
  }

  on(date: string): LocalEntry[] {
    return this.sorted(this.onDate.get(date) ?? []);
  }

  /** Entries that a correction dates on this day, whether or not it counts. */
  datedAnew(date: string): LocalEntry[] {
    return this.sorted([...(this.movedTo.get(date) ?? [])].map((sha) => this.rootOf(sha)));
  }

  /** What a correction of a correction is about. */
  private rootOf(sha: string): string {
    const seen = new Set<string>();
    let at = sha;
    for (let entry = this.entries.get(at); entry?.kind === "record_corrected" && !seen.has(at); entry = this.entries.get(at)) {
      seen.add(at);
      at = String(entry.body["target"]);
    }
    return at;
  }

  /** Entries that name one of `names`, and the mendings of those. */
  about(names: readonly string[]): LocalEntry[] {
    const found = new Set<string>();
    const todo = names.flatMap((name) => [...(this.naming.get(name) ?? [])]);
    for (let sha = todo.pop(); sha !== undefined; sha = todo.pop()) {
      if (found.has(sha)) continue;
      found.add(sha);
      todo.push(...(this.naming.get(sha) ?? []));
    }
    return this.sorted(found);
  }

  unsettled(): LocalEntry[] {
    return this.sorted(this.open.keys());
  }

  stuck(): LocalEntry[] {
    return this.unsettled().filter((entry) => entry.status === "stuck");
  }

  private sorted(shas: Iterable<string>): LocalEntry[] {
    const found: LocalEntry[] = [];
    for (const sha of new Set(shas)) {
      const entry = this.get(sha);
      if (entry) found.push(entry);
    }
    return found.sort(
      (a, b) =>
        compare(a.occurred_on, b.occurred_on) ||
        a.recorded_at - b.recorded_at ||
        (a.seq ?? Infinity) - (b.seq ?? Infinity) ||
        compare(a.sha, b.sha),
    );
  }
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

/** Every id and code in a body; hashes of other entries too. */
function namesIn(value: unknown, found = new Set<string>(), depth = 0): Set<string> {
  if (typeof value === "string") {
    if (NAME.test(value) || /^[0-9a-f]{64}$/.test(value)) found.add(value);
  } else if (typeof value === "object" && value !== null && depth < 6) {
    for (const one of Object.values(value)) namesIn(one, found, depth + 1);
  }
  return found;
}
