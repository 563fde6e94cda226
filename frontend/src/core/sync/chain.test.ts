import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { CHAIN_START, nextLink, type Link } from "./chain.ts";

interface Vector extends Omit<Link, "sha"> {
  prev: string;
  sha256: string;
  chain: string;
}

// The same vectors are read by the server's tests.
const vectors = JSON.parse(
  readFileSync(new URL("../../../../tests/reference/chain.json", import.meta.url), "utf-8"),
) as Vector[];

test("the shared vectors cover each sort of link", () => {
  expect(vectors.length).toBeGreaterThanOrEqual(3);
  expect(vectors.some((one) => one.held)).toBe(true);
  expect(vectors.some((one) => one.stamp_eff)).toBe(true);
  expect(vectors.some((one) => one.prev === CHAIN_START)).toBe(true);
});

test.each(vectors)("link $seq is as the vector says", (vector) => {
  const { prev, sha256, chain, ...rest } = vector;
  expect(nextLink(prev, { ...rest, sha: sha256, held: vector.held ?? null })).toBe(chain);
});

const link: Link = {
  sha: "ab".repeat(32),
  seq: 1,
  received_at: 1,
  received_on: "2026-11-03",
  recorded_on: "2026-11-03",
  stamp_eff: null,
  held: null,
  role: "helper",
};

test.each<[string, Partial<Link>]>([
  ["sha", { sha: "ac".repeat(32) }],
  ["seq", { seq: 2 }],
  ["received_at", { received_at: 2 }],
  ["received_on", { received_on: "2026-11-04" }],
  ["recorded_on", { recorded_on: "2026-11-02" }],
  ["stamp", { stamp_eff: [0, 0] }],
  ["held", { held: "bad_body" }],
  ["role", { role: "owner" }],
])("another %s gives another link", (_, change) => {
  expect(nextLink(CHAIN_START, { ...link, ...change })).not.toBe(nextLink(CHAIN_START, link));
});

test("a field that cannot be put in is refused, not cut short", () => {
  expect(() => nextLink(CHAIN_START, { ...link, received_on: "2026-11-3" })).toThrow(RangeError);
  expect(() => nextLink("00", link)).toThrow(RangeError);
  expect(() => nextLink(CHAIN_START, { ...link, role: "hélper" })).toThrow(RangeError);
});
