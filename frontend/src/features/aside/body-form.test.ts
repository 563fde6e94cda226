import { describe, expect, it } from "vitest";
import { KINDS } from "../../core/stock/kinds.ts";
import { newestVersion } from "../../core/sync/schemas.ts";
import { refusals } from "../../core/sync/validate.ts";
import { parseCount } from "../../ui/index.ts";
import { emptyLine, figureOf, partsOf, withValue, wrongAt, type Body } from "./body-form.ts";

const LOT = "0190c3a0-0000-7000-8000-000000000001";
const sorts = (kind: string, body: Body) => Object.fromEntries(partsOf(kind, 1, body).map((part) => [part.path.join("/"), part.sort]));

describe("a form for an entry", () => {
  it("has a field for everything the kind can say, and one for each line of it", () => {
    expect(sorts("checked", { look: "all", lines: [{ lot: LOT, seen: 3 }] })).toMatchObject({
      crate: "thing", look: "pick", lines: "list", "lines/0/lot": "thing", "lines/0/seen": "count", "lines/0/all": "yes",
      "lines/0/removed": "tally", unassigned: "tally", inside_temp_c: "decimal", look_again_on: "day", note: "long",
    });
    expect(partsOf("checked", 1, { lines: [{}, {}] }).map((part) => part.label)).toContain("Seen, line 2");
  });
  it("says what must be there, and of what list a thing is", () => {
    const part = (name: string) => partsOf("packed", 1, { lots: [{}] }).find((one) => one.path.join("/") === name);
    expect([part("crate")?.required, part("method")?.required]).toEqual([true, false]);
    expect([part("crate")?.of, part("method")?.of, part("lots/0/variety")?.of, part("lots/0/lot")?.of]).toEqual(["crate", "methods", "varieties", "lot"]);
    expect(part("lots/0/unit")?.choices).toContain("clump");
  });
  it.each(KINDS)("%s has a name for every field, whatever its body holds", (kind) => {
    for (const body of [{}, { lots: "torn", lines: 3, from: [null, 7, "x"], value: [] }]) {
      const parts = partsOf(kind, newestVersion(kind) ?? 1, body);
      expect(parts.length).toBeGreaterThan(0);
      for (const part of parts) expect(part.label).toMatch(/^[A-Z][^_/]*$/);
      expect(new Set(parts.map((part) => part.path.join("/"))).size).toBe(parts.length);
    }
  });
  it("mends what the format refuses, and leaves the rest and unknown fields as they are", () => {
    const broken: Body = { lot: LOT, count: -5, how: "eaten_by_geese", tomorrow: { a: 1 } };
    const wrong = refusals("gone_out", 1, broken);
    expect(wrongAt(wrong, ["count"])).toContain("whole number");
    expect(wrongAt(wrong, ["lot"])).toBeUndefined();
    const mended = withValue(withValue(broken, ["count"], 5), ["how"], "given");
    expect(mended).toEqual({ lot: LOT, count: 5, how: "given", tomorrow: { a: 1 } });
    expect(refusals("gone_out", 1, mended)).toEqual([]);
    expect(broken["count"]).toBe(-5);
  });
  it("adds and takes out lines and fields", () => {
    const body: Body = { lines: [{ lot: "a" }, { lot: "b" }] };
    expect(withValue(body, ["lines", 0], undefined)).toEqual({ lines: [{ lot: "b" }] });
    expect(withValue(body, ["lines", 1, "seen"], 4)).toEqual({ lines: [{ lot: "a" }, { lot: "b", seen: 4 }] });
    expect(withValue(body, ["lines"], undefined)).toEqual({});
    expect(withValue({ lines: "torn" }, ["lines", 0, "lot"], "c")).toEqual({ lines: [{ lot: "c" }] });
    expect([emptyLine("checked", 1, ["lines"]), emptyLine("curing_ended", 1, ["lots"])]).toEqual([{}, ""]);
  });
  it("keeps what was typed when it is no figure, so that it is refused in words", () => {
    expect([figureOf(" 12 ", parseCount), figureOf("twelve", parseCount), figureOf(" ", parseCount)]).toEqual([12, "twelve", undefined]);
  });
});
