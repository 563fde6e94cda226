/** Entries set aside, by why and by the phone they came from. Pure. */
import { MENDING } from "../../core/stock/living.ts";
import { refusals } from "../../core/sync/validate.ts";
import type { Draft, LocalEntry } from "../../sync/session.ts";
import { canAccept, waitsForNewer } from "./reasons.ts";

export interface HeldRow {
  sha: string;
  code: string;
  entry: LocalEntry | undefined;
  decided: "" | "leave" | "struck";
}

export interface HeldGroup {
  /** `code|device` */
  id: string;
  code: string;
  /** "" where the entry does not say which phone. */
  device: string;
  rows: HeldRow[];
  /** Those that can count just as they stand. */
  asTold: HeldRow[];
}

export interface Parted {
  /** Somebody has to decide; most entries first. */
  groups: HeldGroup[];
  /** Count by themselves after an update. */
  newer: HeldRow[];
  /** Left aside or struck out. */
  decided: HeldRow[];
}

export function parted(rows: readonly HeldRow[]): Parted {
  const open = rows.filter((row) => row.decided === "");
  const groups = new Map<string, HeldGroup>();
  for (const row of open.filter(({ code }) => !waitsForNewer(code))) {
    // An unreadable entry names no phone itself; the one that brought it is the next best.
    const device = row.entry?.device || row.entry?.relayed_by || "";
    const id = `${row.code}|${device}`;
    const group = groups.get(id) ?? { id, code: row.code, device, rows: [], asTold: [] };
    group.rows.push(row);
    if (countsAsTold(row)) group.asTold.push(row);
    groups.set(id, group);
  }
  // Those that need a look of their own stand before those that one press settles.
  for (const group of groups.values()) {
    const plain = new Set(group.asTold);
    group.rows = [...group.rows.filter((row) => !plain.has(row)), ...group.asTold];
  }
  return {
    groups: [...groups.values()].sort((a, b) => b.rows.length - a.rows.length || (a.id < b.id ? -1 : 1)),
    newer: open.filter(({ code }) => waitsForNewer(code)),
    decided: rows.filter((row) => row.decided !== ""),
  };
}

/** Whether it counts once an owner says so, without a change. Mendings never do: the owner writes her own. */
export function countsAsTold({ code, entry }: Pick<HeldRow, "code" | "entry">): boolean {
  if (!entry || !canAccept(code) || MENDING.has(entry.kind)) return false;
  return refusals(entry.kind, entry.v, entry.body).length === 0;
}

/** The entries by which an owner decides so on each, oldest first. */
export function decide(rows: readonly Pick<HeldRow, "sha" | "entry">[], decision: "accept" | "leave", why = ""): Draft[] {
  const told = why.trim();
  return [...rows]
    .sort((a, b) => (a.entry?.seq ?? 0) - (b.entry?.seq ?? 0))
    .map(({ sha }) => ({ kind: "held_resolved", body: { target: sha, decision, ...(told ? { why: told } : {}) } }));
}

/** Numbers of entries: "41–43 and 47". */
export function rangesSay(numbers: readonly number[]): string {
  const ranges: [number, number][] = [];
  for (const n of [...numbers].sort((a, b) => a - b)) {
    const last = ranges.at(-1);
    if (last && n <= last[1] + 1) last[1] = Math.max(last[1], n);
    else ranges.push([n, n]);
  }
  const said = ranges.map(([from, to]) => (from === to ? String(from) : `${from}–${to}`));
  return said.length > 1 ? `${said.slice(0, -1).join(", ")} and ${said.at(-1) ?? ""}` : (said[0] ?? "");
}
