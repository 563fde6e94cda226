/** Entries as JSON lines, to carry them off the phone; reading them back is an ordinary push. */
import type { RecordRow } from "../store/rows.ts";

/** In the order of the feed, then those that are only here, oldest first. */
export function exportLines(rows: readonly RecordRow[]): Blob {
  const lines = [...rows].sort(byFeed).map((row) => `${JSON.stringify(lineOf(row))}\n`);
  return new Blob(lines, { type: "application/x-ndjson" });
}

function byFeed(a: RecordRow, b: RecordRow): number {
  return (a.seq ?? Infinity) - (b.seq ?? Infinity) || a.device_seq - b.device_seq || 0;
}

function lineOf(row: RecordRow): Record<string, unknown> {
  const { seq, received_at, received_on, recorded_on, held, role } = row;
  const text = typeof row.raw === "string" ? { raw: row.raw } : { raw_b64: base64(row.raw) };
  return seq === null ? text : { seq, ...text, held, received_at, received_on, recorded_on, role };
}

function base64(bytes: Uint8Array): string {
  return btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));
}
