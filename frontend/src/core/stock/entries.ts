/** An entry is one record as it stands in a farm's feed, with what the server added to it. */
import { readEnvelope } from "../sync/envelope.ts";
import type { Stamp } from "../sync/stamp.ts";

/** Stands for the number of an entry that the feed does not hold yet: after all others. */
export const UNSETTLED = 2 ** 53;

export type Body = Record<string, unknown>;

/**
 * `seq` is null while the record is only on a phone. `received_on` and
 * `recorded_on` are civil dates of the farm. `held` is "" or the code of why the
 * record was set aside. Unreadable records have kind "".
 */
export interface Entry {
  sha256: string;
  seq: number | null;
  id: string;
  device: string;
  device_seq: number;
  author: string;
  kind: string;
  v: number;
  occurred_on: string;
  recorded_at: number;
  body: Body;
  held: string;
  received_at: number;
  received_on: string;
  recorded_on: string;
  stamp: Stamp | null;
  role: string;
}

/** What the feed, or for now the phone itself, says about an entry. */
export interface FeedFacts {
  sha: string;
  seq: number | null;
  held: string | null;
  received_at: number;
  received_on: string;
  recorded_on: string;
  stamp_eff: Stamp | null;
  role: string;
}

/** The entry in a text, or with kind "" when the text is no entry. */
export function entryFrom(raw: string | Uint8Array, facts: FeedFacts): Entry {
  const unreadable = facts.held === "unreadable" || facts.held === "bad_envelope";
  const envelope = typeof raw === "string" && !unreadable ? readEnvelope(raw) : null;
  const given = {
    sha256: facts.sha,
    seq: facts.seq,
    held: facts.held ?? "",
    received_at: facts.received_at,
    received_on: facts.received_on,
    recorded_on: facts.recorded_on,
    role: facts.role,
  };
  if (envelope === null) {
    // The dates of its receipt: it has a place in the order and changes nothing.
    return { ...given, ...UNREADABLE, occurred_on: facts.received_on, recorded_at: facts.received_at };
  }
  const { id, device, device_seq, author, kind, v, occurred_on, recorded_at, body } = envelope;
  const stamp = facts.stamp_eff ?? (facts.seq === null ? (envelope.stamp ?? null) : null);
  return { ...given, id, device, device_seq, author, kind, v, occurred_on, recorded_at, body, stamp };
}

const UNREADABLE = {
  id: "",
  device: "",
  device_seq: 0,
  author: "",
  kind: "",
  v: 0,
  body: {} as Body,
  stamp: null,
};

/** (date, claimed time, rank of the kind, number in the feed, number on the device, hash). */
export type OrderKey = readonly [string, number, number, number, number, string];

export function placeInFeed(entry: Entry): number {
  return entry.seq ?? UNSETTLED;
}

export function compareTexts(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

export function compareKeys(a: OrderKey, b: OrderKey): number {
  return (
    compareTexts(a[0], b[0]) ||
    a[1] - b[1] ||
    a[2] - b[2] ||
    a[3] - b[3] ||
    a[4] - b[4] ||
    compareTexts(a[5], b[5])
  );
}

/**
 * The place of an entry in the order of the farm's history; its first part is the date
 * on which the entry takes effect. The date never lies after `noLaterThan`. Within a
 * date the claimed time decides when it belongs to that date (otherwise the entry was
 * written later and comes first), so two acts of one phone on one day keep their order;
 * then the kind; then the feed.
 */
export function orderKey(entry: Entry, rank: number, occurredOn: string, noLaterThan: string): OrderKey {
  const on = occurredOn < noLaterThan ? occurredOn : noLaterThan;
  const claimed = entry.recorded_on === on ? Math.min(entry.recorded_at, entry.received_at) : 0;
  return [on, claimed, rank, placeInFeed(entry), entry.device_seq, entry.sha256];
}
