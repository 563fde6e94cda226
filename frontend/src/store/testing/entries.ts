/** Entries of a made-up farm for the tests of store and sync. */
import { seal, uuid7, type Envelope } from "../../core/sync/envelope.ts";
import { nextStamp } from "../../core/sync/stamp.ts";
import type { Made, Slot } from "../farm-store.ts";
import type { RecordRow } from "../rows.ts";
import type { FarmStore } from "../farm-store.ts";

export const FARM = "11111111-1111-4111-8111-111111111111";
export const PHONE = "22222222-2222-4222-8222-222222222222";
export const OTHER_PHONE = "22222222-2222-4222-8222-222222222223";
export const ANA = "33333333-3333-4333-8333-333333333333";
export const CRATE = "55555555-5555-4555-8555-555555555555";

let made = 0;

export interface Wish {
  device?: string;
  kind?: string;
  body?: Record<string, unknown>;
  at?: number;
}

/** A maker for `FarmStore.save`. */
export function entryMaker(wish: Wish = {}): (slot: Slot) => Made {
  const { device = PHONE, kind = "emptied", body = { crate: CRATE }, at = 1_799_999_000_000 } = wish;
  made += 1;
  const random = new Uint8Array(10);
  new DataView(random.buffer).setUint32(6, made);
  const id = uuid7(at, random);
  return ({ device_seq, clock }) => {
    const stamp = kind === "field_set" ? nextStamp(clock, at) : null;
    const envelope: Envelope = {
      id, farm: FARM, device, device_seq, author: ANA, kind, v: 1,
      occurred_on: "2027-01-15", recorded_at: at, ...(stamp ? { stamp } : {}), body,
    };
    const { raw, sha } = seal(envelope);
    return {
      stamp,
      row: {
        sha, raw, device, device_seq, due: "saved", seq: null, held: null,
        received_at: at, received_on: "2027-01-15", recorded_on: "2027-01-15",
        stamp_eff: stamp, role: "grower", relayed_by: null,
      },
    };
  };
}

export async function saveOne(store: FarmStore, wish: Wish = {}): Promise<RecordRow> {
  const [row] = await store.save(wish.device ?? PHONE, [entryMaker(wish)]);
  if (!row) throw new Error("nothing was saved");
  return row;
}
