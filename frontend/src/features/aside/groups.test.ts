import { describe, expect, it } from "vitest";
import type { LocalEntry } from "../../sync/session.ts";
import { countsAsTold, decide, parted, rangesSay, type HeldRow } from "./groups.ts";

const LOT = "0190c3a0-0000-7000-8000-000000000001";
const entry = (seq: number, more: Partial<LocalEntry> = {}): LocalEntry => ({
  sha: `s${seq}`, id: "", seq, kind: "counted", v: 1, body: { lot: LOT, count: 3 }, occurred_on: "2027-01-10", recorded_at: seq,
  author: "ben", device: "bens", held: "quarantined", status: "safe", role: "helper", relayed_by: "bens", ...more,
});
const row = (seq: number, code: string, more: Partial<LocalEntry> = {}, decided: HeldRow["decided"] = ""): HeldRow => ({
  sha: `s${seq}`, code, entry: entry(seq, more), decided,
});

describe("entries set aside", () => {
  const rows = [
    row(1, "quarantined"),
    row(2, "quarantined", { body: { count: -1 } }),
    row(3, "quarantined", { kind: "record_voided", body: { target: "a".repeat(64) } }),
    row(4, "not_permitted", { device: "doras" }),
    row(5, "newer_version"),
    row(6, "unreadable", { kind: "", device: "", relayed_by: "bens" }),
    row(7, "quarantined", {}, "leave"),
  ];
  const { groups, newer, decided } = parted(rows);
  it("stand by reason and phone, the largest group first, and none is lost", () => {
    expect(groups.map((one) => [one.code, one.device, one.rows.length])).toEqual([
      ["quarantined", "bens", 3], ["not_permitted", "doras", 1], ["unreadable", "bens", 1],
    ]);
    expect(newer.map((one) => one.sha)).toEqual(["s5"]);
    expect(decided.map((one) => one.sha)).toEqual(["s7"]);
    expect(groups.flatMap((one) => one.rows).length + newer.length + decided.length).toBe(rows.length);
  });
  it("count as told only when they are whole, and never as a change of others", () => {
    expect(groups[0]?.asTold.map((one) => one.sha)).toEqual(["s1"]);
    expect(rows.map(countsAsTold)).toEqual([true, false, false, true, false, false, true]);
    expect(countsAsTold({ code: "quarantined", entry: undefined })).toBe(false);
  });
  it("are decided on one by one, oldest first, with the reason", () => {
    expect(decide([row(9, "quarantined"), row(4, "quarantined")], "leave", " not ours ")).toEqual([
      { kind: "held_resolved", body: { target: "s4", decision: "leave", why: "not ours" } },
      { kind: "held_resolved", body: { target: "s9", decision: "leave", why: "not ours" } },
    ]);
    expect(decide([row(9, "quarantined")], "accept")[0]?.body).toEqual({ target: "s9", decision: "accept" });
  });
});

it.each([
  [[41, 42, 43], "41–43"],
  [[7], "7"],
  [[43, 41, 42, 47, 50, 51], "41–43, 47 and 50–51"],
  [[], ""],
] as [number[], string][])("%j is said as %j", (numbers, said) => {
  expect(rangesSay(numbers)).toBe(said);
});
