import { createHash } from "node:crypto";
import fc from "fast-check";
import { expect, test } from "vitest";
import { ENVELOPE_LIMIT_BYTES, readEnvelope, seal, TooLarge, uuid7, type Envelope } from "./envelope.ts";
import { keyOf } from "./hash.ts";

const envelope: Envelope = {
  id: "018f0000-0000-7000-8000-000000000001",
  farm: "11111111-1111-4111-8111-111111111111",
  device: "22222222-2222-4222-8222-222222222222",
  device_seq: 1,
  author: "33333333-3333-4333-8333-333333333333",
  kind: "emptied",
  v: 1,
  occurred_on: "2026-11-03",
  recorded_at: 1793692800000,
  body: { crate: "44444444-4444-4444-8444-444444444444" },
};

test("the key is the SHA-256 of the UTF-8 bytes, as node's own library counts it", () => {
  fc.assert(
    fc.property(fc.string({ unit: "binary" }), (note) => {
      const { raw, sha } = seal({ ...envelope, body: { note } });
      expect(sha).toBe(createHash("sha256").update(raw, "utf8").digest("hex"));
    }),
  );
});

test("the fields stand in one fixed order, the stamp only where it belongs", () => {
  expect(Object.keys(JSON.parse(seal(envelope).raw) as object)).toEqual([
    "id", "farm", "device", "device_seq", "author", "kind", "v", "occurred_on", "recorded_at", "body",
  ]);
  expect(seal({ ...envelope, stamp: [5, 0] }).raw).toContain('"stamp":[5,0],"body"');
});

test("64 KiB of UTF-8 is the limit of the whole, to the byte", () => {
  const empty = seal({ ...envelope, body: { note: "" } }).bytes;
  const room = ENVELOPE_LIMIT_BYTES - empty;
  const pad = room % 2 === 0 ? "" : "x";
  const fits = pad + "é".repeat((room - pad.length) / 2);
  expect(seal({ ...envelope, body: { note: fits } }).bytes).toBe(ENVELOPE_LIMIT_BYTES);
  expect(() => seal({ ...envelope, body: { note: `${fits}x` } })).toThrow(TooLarge);
});

test("a lone surrogate becomes an escape, so that the text is UTF-8", () => {
  const { raw, sha, envelope: back } = seal({ ...envelope, body: { note: "\ud800" } });
  expect(raw).toContain('"note":"\\ud800"');
  expect(sha).toBe(keyOf(raw));
  expect(back.body).toEqual({ note: "\ud800" });
});

test.each(["", "{", "[]", "1", '{"id":1}', JSON.stringify({ ...envelope, body: [] })])(
  "%j is not an envelope",
  (raw) => {
    expect(readEnvelope(raw)).toBeNull();
  },
);

test("an envelope of a later app is still read", () => {
  const later = { ...envelope, kind: "sung_to", v: 7, mood: "dry" };
  expect(readEnvelope(JSON.stringify(later))?.kind).toBe("sung_to");
});

test("a UUID of version 7 is laid out as in RFC 9562, appendix A.6", () => {
  // Time 0x017F22E279B0, rand_a 0xCC3, rand_b 0x18C4DC0C0C07398F.
  const random = Uint8Array.from([0x0c, 0xc3, 0x18, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f]);
  expect(uuid7(1645557742000, random)).toBe("017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
});
