/**
 * One entry as it is made, once, on the device: a single JSON text. Its bytes
 * are never parsed and written again on the way; their hash is its name.
 */
import { keyOf, utf8 } from "./hash.ts";
import type { Stamp } from "./stamp.ts";

export const ENVELOPE_LIMIT_BYTES = 64 * 1024;

export interface Envelope {
  id: string;
  farm: string;
  device: string;
  /** 1, 2, 3… per device. */
  device_seq: number;
  author: string;
  kind: string;
  v: number;
  /** Civil date the person says. */
  occurred_on: string;
  /** Device clock, ms UTC: a claim. */
  recorded_at: number;
  /** Only on `field_set`. */
  stamp?: Stamp;
  body: Record<string, unknown>;
}

export interface Sealed {
  raw: string;
  sha: string;
  bytes: number;
  envelope: Envelope;
}

export class TooLarge extends Error {
  constructor(readonly bytes: number) {
    super(`an entry of ${bytes} bytes is larger than ${ENVELOPE_LIMIT_BYTES}`);
    this.name = "TooLarge";
  }
}

/** The bytes of an entry and their hash. TooLarge above 64 KiB of UTF-8. */
export function seal(envelope: Envelope): Sealed {
  const { id, farm, device, device_seq, author, kind, v, occurred_on, recorded_at, stamp, body } =
    envelope;
  const raw = JSON.stringify({
    id, farm, device, device_seq, author, kind, v, occurred_on, recorded_at,
    ...(stamp === undefined ? {} : { stamp }),
    body,
  });
  const bytes = utf8(raw).length;
  if (bytes > ENVELOPE_LIMIT_BYTES) throw new TooLarge(bytes);
  // Read back, so that what is counted here is what every other reader counts.
  return { raw, sha: keyOf(raw), bytes, envelope: JSON.parse(raw) as Envelope };
}

/** The envelope in a text, or null when the text is none. Unknown fields are let by. */
export function readEnvelope(raw: string): Envelope | null {
  let value: unknown;
  try {
    value = JSON.parse(raw);
  } catch {
    return null;
  }
  return isEnvelope(value) ? value : null;
}

const UUID = /^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$/;

function isEnvelope(value: unknown): value is Envelope {
  if (!isPlainObject(value)) return false;
  const { id, farm, device, device_seq, author, kind, v, occurred_on, recorded_at, body } = value;
  return (
    [id, farm, device, author].every((text) => typeof text === "string" && UUID.test(text)) &&
    Number.isSafeInteger(device_seq) && Number.isSafeInteger(v) &&
    Number.isSafeInteger(recorded_at) &&
    typeof kind === "string" && typeof occurred_on === "string" && isPlainObject(body)
  );
}

export function isPlainObject(value: unknown): value is Record<string, unknown> {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

/** A UUID of version 7 (RFC 9562, section 5.7) from a time and ten random bytes. */
export function uuid7(ms: number, random: Uint8Array): string {
  if (random.length < 10) throw new RangeError("ten random bytes are needed");
  const bytes = new Uint8Array(16);
  let rest = Math.max(0, Math.floor(ms));
  for (let i = 5; i >= 0; i -= 1) {
    bytes[i] = rest % 256;
    rest = Math.floor(rest / 256);
  }
  bytes.set(random.subarray(0, 10), 6);
  bytes[6] = 0x70 | ((bytes[6] ?? 0) & 0x0f);
  bytes[8] = 0x80 | ((bytes[8] ?? 0) & 0x3f);
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)]
    .join("-");
}
