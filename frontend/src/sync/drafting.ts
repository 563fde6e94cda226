/** From what a person wants to write down to the entry that is kept. */
import { seal, TooLarge, uuid7, type Envelope } from "../core/sync/envelope.ts";
import { leastRole, lesserRole, mayWrite } from "../core/sync/rights.ts";
import { newestVersion } from "../core/sync/schemas.ts";
import { nextStamp } from "../core/sync/stamp.ts";
import { refusals } from "../core/sync/validate.ts";
import type { Made, Slot } from "../store/farm-store.ts";
import { NotStored, StorageFull, StoreClosed } from "../store/failures.ts";
import { civilDate, isDay } from "./civil-date.ts";
import { SaveFailed, type Draft, type Farm, type Member } from "./session-types.ts";

export interface Desk {
  farm: Farm;
  device: string;
  member: Member;
  author: Member;
  /** ms UTC */
  now: number;
  today: string;
  randomBytes: (count: number) => Uint8Array;
}

/** A maker of the entry. SaveFailed when it may not be kept. */
export function makerFor(draft: Draft, desk: Desk): (slot: Slot) => Made {
  const role = lesserRole(desk.author.role, desk.member.role);
  if (!mayWrite(draft.kind, role)) throw new SaveFailed(roleWords(draft.kind, desk), {}, "bad_form");
  const v = newestVersion(draft.kind) ?? 1;
  // One round through JSON: what is checked is what will be kept.
  const body = JSON.parse(JSON.stringify(draft.body)) as Record<string, unknown>;
  const wrong = refusals(draft.kind, v, body);
  const [first] = wrong;
  if (first) {
    const fields = Object.fromEntries(wrong.map((one) => [one.path, one.sentence]));
    throw new SaveFailed(first.sentence, fields, "bad_form");
  }
  const occurred_on = draft.occurred_on ?? desk.today;
  if (!isDay(occurred_on)) {
    const sentence = "The day must be a day of the calendar, such as 2026-11-03.";
    throw new SaveFailed(sentence, { occurred_on: sentence }, "bad_form");
  }
  const id = uuid7(desk.now, desk.randomBytes(10));
  return (slot) => make({ id, v, body, occurred_on, role, kind: draft.kind }, desk, slot);
}

interface Fit {
  id: string;
  kind: string;
  v: number;
  body: Record<string, unknown>;
  occurred_on: string;
  role: string;
}

function make({ id, kind, v, body, occurred_on, role }: Fit, desk: Desk, slot: Slot): Made {
  const stamp = kind === "field_set" ? nextStamp(slot.clock, desk.now) : null;
  const envelope: Envelope = {
    id,
    farm: desk.farm.id,
    device: desk.device,
    device_seq: slot.device_seq,
    author: desk.author.id,
    kind,
    v,
    occurred_on,
    recorded_at: desk.now,
    ...(stamp ? { stamp } : {}),
    body,
  };
  const { raw, sha } = sealed(envelope);
  const here = civilDate(desk.now, desk.farm.time_zone);
  return {
    stamp,
    row: {
      sha,
      raw,
      device: desk.device,
      device_seq: slot.device_seq,
      due: "saved",
      seq: null,
      held: null,
      received_at: desk.now,
      received_on: here,
      recorded_on: here,
      stamp_eff: stamp,
      role,
      relayed_by: null,
    },
  };
}

function sealed(envelope: Envelope): { raw: string; sha: string } {
  try {
    return seal(envelope);
  } catch (error) {
    if (!(error instanceof TooLarge)) throw error;
    const sentence = `This entry is too long to keep: ${Math.ceil(error.bytes / 1024)} KiB, where 64 fit. Shorten the note.`;
    throw new SaveFailed(sentence, { note: sentence }, "too_large");
  }
}

function roleWords(kind: string, { author, member }: Pick<Desk, "author" | "member">): string {
  const needed = leastRole(kind);
  if (needed === undefined) return "This app does not know that kind of entry yet. Update it first.";
  const who = needed === "owner" ? "the owner" : needed === "server" ? "the farm computer" : `a ${needed}`;
  // The one at work may, but not on a phone that was paired for somebody with fewer rights.
  if (mayWrite(kind, author.role)) return `${author.name} may not write this down here: the phone was paired for ${member.name}, and it takes ${who}'s.`;
  return `${author.name} may not write this down; it takes ${who}. Choose who is writing.`;
}

/** Why a save failed, in the words for the person at the crate. `safe`: entries kept so far; null: not known. */
export function saveFailure(error: unknown, safe: number | null): unknown {
  if (error instanceof StorageFull) {
    const kept = safe === null ? "What was saved before is safe." : safe === 1 ? "1 entry is safe." : `${safe} entries are safe.`;
    return new SaveFailed(`This phone is full. ${kept} Free some space; new entries cannot be kept until then.`, {}, "storage_full");
  }
  if (error instanceof StoreClosed) {
    return new SaveFailed("Not saved. Another window of this app has taken over. What you typed is still on screen: write it down, then close this window.");
  }
  if (error instanceof NotStored) {
    return new SaveFailed("Not saved. This phone would not store it. What you typed is still on screen: write it down, then try again.");
  }
  return error;
}
