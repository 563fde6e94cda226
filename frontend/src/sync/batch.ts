/** Which entries go into one push. */
import { utf8 } from "../core/sync/hash.ts";
import type { RecordRow } from "../store/rows.ts";

export const PUSH_RECORDS = 200;
export const PUSH_BYTES = 1024 * 1024;

/** The entry as the text that is put into a request, or null when no text can carry its bytes. */
export function textOf(raw: string | Uint8Array): string | null {
  return typeof raw === "string" ? raw : decodeLoosely(raw);
}

/** As many of `rows` from the front as fit one request; at least one. */
export function fitting(rows: readonly RecordRow[], room: number = PUSH_BYTES): RecordRow[] {
  let left = room;
  const fit: RecordRow[] = [];
  for (const row of rows) {
    left -= utf8(JSON.stringify(textOf(row.raw))).length + 1;
    if (left < 0 && fit.length > 0) break;
    fit.push(row);
  }
  return fit;
}

/**
 * UTF-8 that may hold lone surrogates, which a JSON escape can carry to the server
 * and which come back as bytes; null for any other bytes.
 */
function decodeLoosely(bytes: Uint8Array): string | null {
  let text = "";
  let at = 0;
  while (at < bytes.length) {
    const first = bytes[at] ?? 0;
    const length = first < 0x80 ? 1 : first >= 0xf0 ? 4 : first >= 0xe0 ? 3 : first >= 0xc2 ? 2 : 0;
    const part = bytes.subarray(at, at + length);
    if (length === 0 || part.length < length) return null;
    const char = length === 3 ? surrogate(part) : null;
    if (char !== null) {
      text += char;
    } else {
      try {
        text += new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(part);
      } catch {
        return null;
      }
    }
    at += length;
  }
  return text;
}

function surrogate(part: Uint8Array): string | null {
  const [a = 0, b = 0, c = 0] = part;
  if (a !== 0xed || b < 0xa0 || b > 0xbf || c < 0x80 || c > 0xbf) return null;
  return String.fromCharCode(0xd000 | ((b & 0x3f) << 6) | (c & 0x3f));
}
