import { describe, expect, it } from "vitest";
import { decisionOn, openHeld } from "./held.ts";

const leave = { kind: "held_resolved", sha: "d1", body: { target: "x", decision: "leave" } };
const undo = { kind: "record_voided", sha: "v1", body: { target: "d1" } };
const strike = { kind: "record_voided", sha: "v2", body: { target: "x" } };

describe("decisions on an entry that was set aside", () => {
  it("are remembered", () => {
    expect([decisionOn("x", [leave]), decisionOn("y", [leave]), decisionOn("x", [strike])]).toEqual(["leave", "", "struck"]);
  });
  it("can be undone, and the undo as well", () => {
    expect(decisionOn("x", [leave, undo])).toBe("");
    expect(decisionOn("x", [leave, undo, { kind: "record_voided", sha: "v3", body: { target: "v1" } }])).toBe("leave");
    expect(decisionOn("x", [strike, { kind: "record_voided", sha: "v3", body: { target: "v2" } }])).toBe("");
  });
  it("do not come from entries that were set aside themselves", () => {
    expect(decisionOn("x", [{ ...leave, held: "not_permitted" }])).toBe("");
  });
  it("leave the rest to be counted", () => {
    expect(openHeld({ x: "quarantined", y: "bad_body" }, () => [leave])).toBe(1);
  });
});
