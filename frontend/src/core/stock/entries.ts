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
  const envelope = typeof raw === "string" ? readEnvelope(raw) : null;
  const given = {
    sha256: facts.sha,
    seq: facts.seq,
    held: facts.held ?? "",
    received_at: facts.received_at,
    received_on: facts.received_on,
    recorded_on: facts.recorded_on,
    role: facts.role,
  };
  if (envelope === null) return { ...given, ...UNREADABLE, stamp: facts.stamp_eff };
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
  occurred_on: "",
  recorded_at: 0,
  body: {} as Body,
};
