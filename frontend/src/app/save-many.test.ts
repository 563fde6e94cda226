import { describe, expect, it } from "vitest";
import type { Draft, Saved } from "../sync/session.ts";
import { inPieces, PIECE } from "./save-many.ts";

const drafts = (n: number): Draft[] => Array.from({ length: n }, (_, i) => ({ kind: "held_resolved", body: { target: String(i) } }));
const keep = (some: Draft[]): Promise<Saved[]> =>
  Promise.resolve(some.map((one) => ({ sha: String((one.body as { target: string }).target), id: "", kind: one.kind })));

describe("many entries", () => {
  it("are kept in order, in pieces, and each piece is told", async () => {
    const told: number[] = [];
    const { saved, error } = await inPieces(drafts(2 * PIECE + 3), keep, (count) => void told.push(count));
    expect(error).toBeNull();
    expect(saved.map((one) => Number(one.sha))).toEqual(Array.from({ length: 2 * PIECE + 3 }, (_, i) => i));
    expect(told).toEqual([PIECE, 2 * PIECE, 2 * PIECE + 3]);
  });
  it("stop at the first piece that is not kept, and what was kept is known", async () => {
    let calls = 0;
    const full = new Error("full");
    const { saved, error } = await inPieces(drafts(3 * PIECE), (some) => (++calls === 2 ? Promise.reject(full) : keep(some)), () => undefined);
    expect(error).toBe(full);
    expect(saved).toHaveLength(PIECE);
    expect(calls).toBe(2);
  });
});
