import { describe, expect, it } from "vitest";
import { decisionOn, readBody, whySetAside } from "./reasons.ts";

/** The codes with which an entry can be set aside. */
const CODES = ["unreadable", "bad_envelope", "wrong_farm", "unknown_kind", "newer_version", "bad_body", "not_permitted", "too_large", "quarantined"];

describe("why an entry was set aside", () => {
  it.each([...CODES, "of_tomorrow"])("%s is said in words", (code) => {
    const said = whySetAside(code, { kind: "sung_to", v: 2, role: "helper" }, "Ben");
    expect(said).toMatch(/^[A-Z].{15,}[.]$/);
    expect(said).not.toMatch(/_|undefined/);
  });
  it("names the person who may only look", () => {
    expect(whySetAside("not_permitted", { kind: "checked", v: 1, role: "viewer" }, "Cleo")).toBe("Cleo may look and not write.");
  });
});

describe("rewriting", () => {
  it("takes a whole body", () => {
    expect(readBody('{"count": 3}')).toEqual({ body: { count: 3 } });
  });
  it.each(['{"count": 3', "[]", "null", "3", ""])("refuses %j with a sentence", (text) => {
    expect(readBody(text)).toMatchObject({ sentence: expect.stringMatching(/[.]$/) });
  });
});

describe("decisions", () => {
  const leave = { kind: "held_resolved", sha: "d1", body: { target: "x", decision: "leave" } };
  const undo = { kind: "record_voided", sha: "v1", body: { target: "d1" } };
  it("are remembered", () => {
    expect(decisionOn("x", [leave])).toBe("leave");
    expect(decisionOn("y", [leave])).toBe("");
  });
  it("can be undone", () => {
    expect(decisionOn("x", [leave, undo])).toBe("");
  });
});
