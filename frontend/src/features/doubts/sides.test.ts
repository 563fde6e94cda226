import { describe, expect, it } from "vitest";
import type { Problem } from "../../core/stock/state.ts";
import type { LocalEntry } from "../../sync/session.ts";
import { sidesOf, type Look } from "./sides.ts";

const problem = (code: string, more: Partial<Problem> = {}): Problem => ({
  code, records: [], voidable: [], facts: { lot: "l" }, outs: [], accepted: "", ...more,
});
const entry = (sha: string, body: Record<string, unknown>): LocalEntry => ({
  sha, id: "", seq: 1, kind: "moved", v: 1, body, occurred_on: "2026-12-01", recorded_at: 1, author: "ana", device: "d",
  held: null, status: "safe", role: "grower", relayed_by: null,
});
const look = (more: Partial<Look> = {}): Look => ({ steps: [], about: () => [], isUndone: () => false, ...more });
const shas = (one: Problem, at: Look) => sidesOf(one, at).map((side) => `${side.part} ${side.sha}`);

describe("the sides", () => {
  it("are what the book went by, then what disagrees, each once", () => {
    const steps = ["p", "p", "a", "b"].map((record) => ({ record }));
    const one = problem("negative_balance", { records: ["a", "b"], voidable: ["b"], outs: ["void"] });
    expect(shas(one, look({ steps }))).toEqual(["book p", "against a", "against b"]);
  });
  it("of a batch found elsewhere are the look and the entry that put it where the book has it", () => {
    const one = problem("lot_elsewhere", { records: ["check"], facts: { lot: "l", crate: "c2", container: "c1" } });
    const about = () => [
      entry("packed", { crate: "c1", lots: [{ lot: "l" }] }),
      entry("away", { lot: "l", container: "c2" }),
      entry("back", { lot: "l", container: "c1" }),
      entry("again", { lot: "l", container: "c1" }),
    ];
    expect(shas(one, look({ about }))).toEqual(["book again", "against check"]);
    expect(shas(one, look({ about, isUndone: (each) => each.sha === "again" }))).toEqual(["book back", "against check"]);
  });
  it("show the nearest of a long book", () => {
    const steps = Array.from({ length: 40 }, (_, i) => ({ record: `s${i}` }));
    const sides = sidesOf(problem("negative_balance", { records: ["s39"] }), look({ steps }));
    expect(sides).toHaveLength(13);
    expect(sides[0]?.sha).toBe("s27");
  });
});
