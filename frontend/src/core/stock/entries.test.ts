import { expect, test } from "vitest";
import { seal } from "../sync/envelope.ts";
import { entryFrom, type FeedFacts } from "./entries.ts";

const ID = "11111111-1111-4111-8111-111111111111";
const facts: FeedFacts = {
  sha: "", seq: 3, held: null, received_at: 50, received_on: "2027-01-15", recorded_on: "2027-01-14", stamp_eff: null, role: "owner",
};
const { raw } = seal({
  id: ID, farm: ID, device: ID, device_seq: 1, author: ID, kind: "counted", v: 1,
  occurred_on: "2027-01-14", recorded_at: 40, body: { lot: ID, count: 3 },
});

test.each(["unreadable", "bad_envelope"])("what was set aside as %s has no id and no effect, also when this app could read it", (held) => {
  expect(entryFrom(raw, { ...facts, held })).toMatchObject({
    held, id: "", kind: "", author: "", device: "", device_seq: 0, body: {}, stamp: null,
    occurred_on: "2027-01-15", recorded_at: 50,
  });
});

test("what was set aside for another reason keeps what it says", () => {
  expect(entryFrom(raw, { ...facts, held: "not_permitted" })).toMatchObject({ held: "not_permitted", id: ID, kind: "counted" });
});

test("bytes that are no text have the dates of their receipt", () => {
  expect(entryFrom(new Uint8Array([0xff]), { ...facts, held: "unreadable" })).toMatchObject({ kind: "", occurred_on: "2027-01-15" });
});

test("until the feed has it an entry has the stamp it was made with; then the one that the server gave", () => {
  const edit = seal({
    id: ID, farm: ID, device: ID, device_seq: 2, author: ID, kind: "field_set", v: 1, occurred_on: "2027-01-14",
    recorded_at: 40, stamp: [40, 2], body: { table: "crates", row: ID, field: "number", value: "7" },
  });
  expect(entryFrom(edit.raw, { ...facts, seq: null }).stamp).toEqual([40, 2]);
  expect(entryFrom(edit.raw, { ...facts, stamp_eff: [39, 0] }).stamp).toEqual([39, 0]);
});
