import { describe, expect, it } from "vitest";
import { refusals } from "../../core/sync/validate.ts";
import { crateName, varietyName } from "../names.ts";
import { blankCodes, draftsOfRows, nextCrateNumber, withNewRows, type NewRow } from "./new-rows.ts";
import { id, named, stockOf } from "./testing.ts";

const rows: NewRow[] = [
  { table: "varieties", id: id(1), name: "Oddny Larkvane" },
  { table: "crates", id: id(2), name: "13" },
  { table: "crates", id: id(3), name: "", code: "4K7QM2X1" },
];

describe("names a form brings along", () => {
  it("are known to lists and sentences before they are kept, and leave the stock alone", () => {
    const state = stockOf({});
    const seen = withNewRows(state, rows);
    expect([varietyName(seen, id(1)), crateName(seen, id(2)), crateName(seen, id(3))]).toEqual([
      "Oddny Larkvane", "Crate 13", "Crate 4K7Q-M2X1",
    ]);
    expect(state).toEqual(stockOf({}));
  });
  it("are written only when the entry speaks of them", () => {
    const drafts = draftsOfRows(rows, [{ kind: "moved", body: { lot: id(9), container: id(3) } }]);
    expect(drafts).toEqual([{ kind: "labelled", body: { code: "4K7QM2X1", target: "crate", id: id(3) } }]);
    const all = draftsOfRows(rows, [{ kind: "packed", body: { crate: id(2), lots: [{ variety: id(1) }] } }]);
    expect(all.map((draft) => (draft.body as { field: string }).field)).toEqual(["name", "number"]);
    for (const draft of [...drafts, ...all]) expect(refusals(draft.kind, 1, draft.body)).toEqual([]);
  });
});

describe("what comes next", () => {
  it("is the number after the highest", () => {
    const crates = { a: named("12", "number"), b: named("North 3", "number"), c: named("7", "number") };
    expect(nextCrateNumber(stockOf({ rows: { crates } }))).toBe("13");
    expect(nextCrateNumber(stockOf({}))).toBe("1");
  });
  it("are labels printed and not stuck on", () => {
    const codes = { B: { target: "crate", id: id(1), by: "a" } };
    expect(blankCodes(stockOf({ printed: { C: 1, B: 1, A: 2 }, codes }))).toEqual(["A", "C"]);
  });
});
