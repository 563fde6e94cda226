/** SHA-256 (FIPS 180-4) without waiting, so that an entry can be made inside a database transaction. */
import { sha256 as digest } from "@noble/hashes/sha2.js";

const encoder = new TextEncoder();

export function utf8(text: string): Uint8Array {
  return encoder.encode(text);
}

export function sha256(bytes: Uint8Array): Uint8Array {
  return digest(bytes);
}

/** The key of the log: SHA-256 of the entry's UTF-8 bytes, in lower case hex. */
export function keyOf(raw: string | Uint8Array): string {
  return toHex(sha256(typeof raw === "string" ? utf8(raw) : raw));
}

const HEX = Array.from({ length: 256 }, (_, byte) => byte.toString(16).padStart(2, "0"));

export function toHex(bytes: Uint8Array): string {
  let text = "";
  for (const byte of bytes) text += HEX[byte] ?? "";
  return text;
}

/** The bytes of a hex text; RangeError when it is not one. */
export function fromHex(text: string): Uint8Array {
  if (text.length % 2 !== 0 || !/^[0-9a-f]*$/i.test(text)) throw new RangeError("not a hex text");
  const bytes = new Uint8Array(text.length / 2);
  for (let i = 0; i < bytes.length; i += 1) bytes[i] = parseInt(text.slice(2 * i, 2 * i + 2), 16);
  return bytes;
}
