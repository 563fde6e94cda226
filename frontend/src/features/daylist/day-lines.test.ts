import { describe, expect, it } from "vitest";
import type { LocalEntry } from "../../sync/session.ts";
import { dayLines, isCorrectable, lastDayBefore, linesOfDay, waitsForGrower } from "./day-lines.ts";

const sha = (n: number) => String(n).repeat(64);
function entry(n: number, kind: string, body: Record<string, unknown> = {}, more: Partial<LocalEntry> = {}): LocalEntry {
  return {
    sha: sha(n), id: "", seq: n, kind, v: 1, body, occurred_on: "2026-11-24", recorded_at: n, author: "ana", device: "d",
    held: null, status: "safe", role: "grower", relayed_by: null, ...more,
  };
}
const check = entry(1, "checked", { look: "all", lines: [] });
const mend = (n: number, target: number, more: Record<string, unknown> = {}, kind = "record_corrected") =>
  entry(n, kind, { target: sha(target), ...more });
const none = { problems: {} };
const read = (all: LocalEntry[], doubts: Parameters<typeof dayLines>[2] = none) =>
  dayLines([check], () => all, doubts)[0]!;

describe("the list of a day", () => {
  it("is newest first and keeps names apart", () => {
    const lines = dayLines([check, entry(2, "field_set"), mend(3, 1, {}, "record_voided")], () => [], none);
    expect(lines.map((line) => line.sort)).toEqual(["mending", "name", "entry"]);
    expect(lines.map(isCorrectable)).toEqual([false, false, true]);
  });
  it("shows the latest correction, also of a correction, with its day", () => {
    const first = mend(2, 1, { body: { look: "some", lines: [] } });
    const second = mend(3, 2, { body: { look: "top", lines: [] }, occurred_on: "2026-11-23" });
    const { standing } = read([first, second]);
    expect(standing.body["look"]).toBe("top");
    expect(standing.occurred_on).toBe("2026-11-23");
    expect(standing.undone).toBe(false);
  });
  it("shows an entry that was corrected to another day on both days, and takes it back with the correction", () => {
    const to = mend(2, 1, { body: check.body, occurred_on: "2026-11-23" });
    const all = [to];
    const on = (day: string, own: LocalEntry[], redated: LocalEntry[]) => linesOfDay(day, own, redated, () => all, none);
    const [line] = on("2026-11-23", [], [check]);
    expect([line?.entry.sha, line?.standing.occurred_on]).toEqual([check.sha, "2026-11-23"]);
    expect(on("2026-11-24", [check, to], [])).toHaveLength(2);
    expect(on("2026-11-24", [check], [check])).toHaveLength(1);
    all.push(mend(3, 2, {}, "record_voided"));
    expect(on("2026-11-23", [], [check])).toEqual([]);
  });
  it("goes back to the old words when the correction is undone", () => {
    const all = [mend(2, 1, { body: { look: "top", lines: [] } }), mend(3, 2, {}, "record_voided")];
    expect(read(all).standing.corrected).toBeNull();
    expect(read(all).standing.body["look"]).toBe("all");
  });
  it("strikes an undone entry, and restores it when the undo is undone", () => {
    const undo = mend(2, 1, {}, "record_voided");
    expect(read([undo]).standing.undone).toBe(true);
    expect(isCorrectable(read([undo]))).toBe(false);
    expect(read([undo, mend(3, 2, {}, "record_voided")]).standing.undone).toBe(false);
  });
  it("lets a helper's mending of another's entry wait until it is accepted", () => {
    const undo = mend(2, 1, {}, "record_voided");
    const problem = { code: "not_allowed", records: [], facts: {}, outs: [], voidable: [], accepted: "" };
    const key = `not_allowed:${sha(2)}`;
    expect(read([undo], { problems: { [key]: problem } }).standing.undone).toBe(false);
    expect(read([undo], { problems: { [key]: { ...problem, accepted: sha(9) } } }).standing.undone).toBe(true);
    expect([waitsForGrower(check, "ben", "helper"), waitsForGrower(check, "ana", "helper"), waitsForGrower(check, "ben", "grower")]).toEqual([true, false, false]);
  });
  it("leaves an entry as it was when its correction does not fit, also once that was accepted", () => {
    const torn = mend(2, 1, { body: { look: "from afar" } });
    const problem = { code: "bad_correction", records: [], facts: {}, outs: [], voidable: [], accepted: sha(9) };
    expect(read([torn], { problems: { [`bad_correction:${sha(2)}`]: problem } }).standing).toMatchObject({ corrected: null, body: { look: "all" } });
  });
  it("does not count a mending that was set aside", () => {
    expect(read([{ ...mend(2, 1, {}, "record_voided"), held: "not_permitted" }]).standing.undone).toBe(false);
  });
  it("finds the last day something was written about", () => {
    const on = (date: string) => ({ on: date }) as never;
    const stock = { postings: { a: on("2026-11-03"), b: on("2026-11-20") }, checks: { c: on("2026-11-12") }, readings: {} };
    expect(lastDayBefore(stock, "2026-11-20")).toBe("2026-11-12");
    expect(lastDayBefore(stock, "2026-11-03")).toBe("");
  });
  it("lives with undos that name each other", () => {
    const [a, b] = [mend(2, 3, {}, "record_voided"), mend(3, 2, {}, "record_voided")];
    expect(() => read([a, b, mend(4, 1, {}, "record_voided")])).not.toThrow();
  });
});
