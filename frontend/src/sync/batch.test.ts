import { expect, test } from "vitest";
import { utf8 } from "../core/sync/hash.ts";
import type { RecordRow } from "../store/rows.ts";
import { fitting, textOf } from "./batch.ts";

function row(raw: string | Uint8Array): RecordRow {
  return {
    sha: "", raw, device: "", device_seq: 0, due: "saved", seq: null, held: null, received_at: 0,
    received_on: "", recorded_on: "", stamp_eff: null, role: "", relayed_by: null, touched: 0,
  };
}

test("as many go as fit, oldest first, and one at least however large it is", () => {
  const rows = [row("x".repeat(80)), row("y".repeat(80)), row("z")];
  expect(fitting(rows, 100).map((one) => one.raw)).toEqual([rows[0]?.raw]);
  expect(fitting(rows, 166)).toHaveLength(2);
  expect(fitting(rows, 1000)).toHaveLength(3);
  expect(fitting(rows, 10).map((one) => one.raw)).toEqual([rows[0]?.raw]);
  expect(fitting([], 10)).toEqual([]);
});

test("what counts is the size in the request: escapes and all", () => {
  expect(fitting([row("a"), row('"'.repeat(20))], 40)).toHaveLength(1);
});

test.each<[string, number[], string | null]>([
  ["plain text", [0x7b, 0x7d], "{}"],
  ["two, three and four bytes", [...utf8("äसि🌼")], "äसि🌼"],
  ["half a character", [0x22, 0xed, 0xa0, 0x80, 0x22], '"\ud800"'],
  ["a mark at the front", [0xef, 0xbb, 0xbf, 0x7b], "\ufeff{"],
  ["a letter of an older table", [0x22, 0xe4, 0x22], null],
  ["a character cut off", [0xf0, 0x9f, 0x8c], null],
  ["a longer way to write a short one", [0xc0, 0x80], null],
])("bytes as text: %s", (_, bytes, text) => {
  expect(textOf(new Uint8Array(bytes))).toBe(text);
});
