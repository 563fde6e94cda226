/** The entries of a farm in memory, found by date, by thing and by how far they got. */
import type { Entry } from "../core/stock/entries.ts";
import type { RecordRow } from "../store/rows.ts";
import type { LocalEntry } from "./session-types.ts";

const NAME = /^(?:[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}|[0-9A-HJKMNP-TV-Z]{8})$/;

export class LedgerView {
  private readonly entries = new Map<string, LocalEntry>();
  private readonly onDate = new Map<string, Set<string>>();
  /** Entries that a correction put on this day, and corrections that one put there. */
  private readonly movedTo = new Map<string, Set<string>>();
  private readonly naming = new Map<string, Set<string>>();
  private readonly open = new Set<string>();

  put(row: RecordRow, entry: Entry): void {
    const { sha } = row;
    const status = row.due === "stuck" ? "stuck" : row.due === undefined ? "safe" : "here";
    const isNew = !this.entries.has(sha);
    this.entries.set(sha, {
      sha,
      id: entry.id,
      seq: row.seq,
      kind: entry.kind,
      v: entry.v,
      body: entry.body,
      occurred_on: entry.occurred_on,
      recorded_at: entry.recorded_at,
      author: entry.author,
      device: entry.device,
      held: row.held,
      status,
      role: row.role,
      relayed_by: row.relayed_by,
      received_at: row.seq === null ? null : row.received_at,
      ...(row.stuck === undefined ? {} : { stuck: row.stuck }),
    });
    if (status === "safe") this.open.delete(sha);
    else this.open.add(sha);
    if (!isNew) return;
    note(this.onDate, entry.occurred_on, sha);
    const { target, occurred_on } = entry.body;
    if (entry.kind === "record_corrected" && typeof target === "string" && typeof occurred_on === "string") {
      note(this.movedTo, occurred_on, target);
    }
    for (const name of namesIn(entry.body)) note(this.naming, name, sha);
  }

  get size(): number {
    return this.entries.size;
  }

  get(sha: string): LocalEntry | undefined {
    return this.entries.get(sha);
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
    return this.sorted(this.open);
  }

  stuck(): LocalEntry[] {
    return this.unsettled().filter((entry) => entry.status === "stuck");
  }

  private sorted(shas: Iterable<string>): LocalEntry[] {
    const found: LocalEntry[] = [];
    for (const sha of new Set(shas)) {
      const entry = this.entries.get(sha);
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

function note(index: Map<string, Set<string>>, key: string, sha: string): void {
  const known = index.get(key);
  if (known) known.add(sha);
  else index.set(key, new Set([sha]));
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
