/**
 * The chain of a farm's feed: each link covers the one before it, the entry and
 * all that the server added and the fold reads. Two histories that differ
 * anywhere have different links from there on.
 *
 * Input, field by field: previous link 16 bytes | sha256 32 bytes | seq u64 |
 * received_at u64 | received_on 10 ASCII | recorded_on 10 ASCII | stamp given u8 |
 * stamp ms u64 | stamp counter u32 | length u8 + held code | length u8 + role.
 * Numbers are big-endian. The link is the first 16 bytes of the SHA-256 of that.
 */
import { fromHex, sha256, toHex, utf8 } from "./hash.ts";
import type { Stamp } from "./stamp.ts";

export const CHAIN_START = "0".repeat(32);

export interface Link {
  sha: string;
  seq: number;
  /** ms UTC */
  received_at: number;
  received_on: string;
  recorded_on: string;
  stamp_eff: Stamp | null;
  held: string | null;
  role: string;
}

/** The link after `prev` (32 hex digits), as 32 hex digits. RangeError when a field cannot be put in. */
export function nextLink(prev: string, link: Link): string {
  const held = ascii(link.held ?? "", 255);
  const role = ascii(link.role, 255);
  const bytes = new Uint8Array(16 + 32 + 8 + 8 + 10 + 10 + 1 + 8 + 4 + 1 + held.length + 1 + role.length);
  const view = new DataView(bytes.buffer);
  let at = 0;
  const put = (part: Uint8Array): void => {
    bytes.set(part, at);
    at += part.length;
  };
  const putU64 = (value: number): void => {
    view.setBigUint64(at, BigInt(value));
    at += 8;
  };
  put(exactly(fromHex(prev), 16));
  put(exactly(fromHex(link.sha), 32));
  putU64(link.seq);
  putU64(link.received_at);
  put(exactly(ascii(link.received_on, 10), 10));
  put(exactly(ascii(link.recorded_on, 10), 10));
  view.setUint8(at, link.stamp_eff === null ? 0 : 1);
  at += 1;
  putU64(link.stamp_eff?.[0] ?? 0);
  view.setUint32(at, link.stamp_eff?.[1] ?? 0);
  at += 4;
  for (const text of [held, role]) {
    view.setUint8(at, text.length);
    at += 1;
    put(text);
  }
  return toHex(sha256(bytes).subarray(0, 16));
}

function ascii(text: string, most: number): Uint8Array {
  const bytes = utf8(text);
  if (bytes.length > most || bytes.length !== text.length) throw new RangeError(`not ASCII: ${text}`);
  return bytes;
}

function exactly(bytes: Uint8Array, length: number): Uint8Array {
  if (bytes.length !== length) throw new RangeError(`${bytes.length} bytes where ${length} belong`);
  return bytes;
}
