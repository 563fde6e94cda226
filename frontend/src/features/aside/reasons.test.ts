import { describe, expect, it } from "vitest";
import { changesSay, entriesSay, reasonLabel, waitsForNewer, whySetAside, whyStuck } from "./reasons.ts";

/** The codes with which an entry can be set aside. */
const CODES = ["unreadable", "bad_envelope", "wrong_farm", "unknown_kind", "newer_version", "bad_body", "not_permitted", "too_large", "quarantined"];

describe("why an entry was set aside", () => {
  it.each([...CODES, "of_tomorrow"])("%s is said in words", (code) => {
    const said = whySetAside(code, { kind: "sung_to", v: 2, role: "helper" }, "Ben");
    expect(said).toMatch(/^[A-Z].{15,}[.]$/);
    expect(said).not.toMatch(/_|undefined/);
    expect(reasonLabel(code)).toMatch(/^[A-Z][^_]+$/);
  });
  it("names the person who may only look", () => {
    expect(whySetAside("not_permitted", { kind: "checked", v: 1, role: "viewer" }, "Cleo")).toBe("Cleo may look and not write.");
  });
  it("tells those that an update will bring apart from those somebody decides on", () => {
    expect(CODES.filter(waitsForNewer)).toEqual(["unknown_kind", "newer_version"]);
  });
});

describe("why an entry is stuck", () => {
  it.each(["413", "500", "unreadable", "bad_request", ""])("%j is said in words", (code) => {
    expect(whyStuck(code)).toMatch(/^[A-Z].{15,}[.]$/);
    expect(whyStuck(code)).not.toMatch(/_|undefined/);
  });
});

describe("what letting many count does", () => {
  const stock = { lots: { l1: { unit: "tuber" }, l2: { unit: "clump" } } } as never;
  it("is told by batches and sums, units apart", () => {
    const changes = [{ lot: "l1", before: 34, after: 30 }, { lot: "l2", before: 2, after: 3 }];
    expect(changesSay(changes, stock)).toBe("2 batches change, 4 tubers fewer in all, 1 clump more in all.");
  });
  it("says so when no count changes", () => {
    expect(changesSay([], stock)).toBe("No count changes.");
    expect(entriesSay(1)).toBe("1 entry");
  });
});
