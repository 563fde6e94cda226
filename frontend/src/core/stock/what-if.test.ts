import { createHash } from "node:crypto";
import { describe, expect, it } from "vitest";
import { seal } from "../sync/envelope.ts";
import { entryFrom, type Entry } from "./entries.ts";
import { Fold } from "./fold.ts";
import { postedTo, whatIf, type Hand } from "./what-if.ts";
import { waysOut, type Way } from "./ways-out.ts";

function idOf(name: string): string {
  const hex = createHash("sha256").update(name).digest("hex");
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-4${hex.slice(13, 16)}-8${hex.slice(17, 20)}-${hex.slice(20, 32)}`;
}
const [LOT, OTHER, CRATE, BIN] = ["lot", "other", "crate", "bin"].map(idOf) as [string, string, string, string];
const noon = (day: string): number => Date.parse(`${day}T12:00:00Z`);
const TODAY = "2027-02-01";
const ANA: Hand = { author: idOf("ana"), role: "owner", device: idOf("desk"), now: noon(TODAY), today: TODAY };

class Farm {
  readonly fold = new Fold();
  private count = 0;

  write(on: string, kind: string, body: Record<string, unknown>, more: { who?: string; role?: string; held?: string } = {}): string {
    this.count += 1;
    const { who = "ana", role = "owner", held = null } = more;
    const at = noon(on) + this.count;
    const { raw, sha } = seal({
      id: idOf(`entry ${this.count}`), farm: idOf("farm"), device: idOf(who), device_seq: this.count, author: idOf(who),
      kind, v: 1, occurred_on: on, recorded_at: at, body,
    });
    this.take(entryFrom(raw, { sha, seq: this.count, held, received_at: at, received_on: on, recorded_on: on, stamp_eff: null, role }));
    return sha;
  }
  take(entry: Entry): void {
    this.fold.apply([entry]);
  }
  pack(count: number): string {
    return this.write("2026-11-03", "packed", { crate: CRATE, lots: [{ lot: LOT, count, unit: "tuber" }] });
  }
  sell(count: number, who?: string): string {
    return this.write("2026-12-01", "gone_out", { lot: LOT, count, how: "sold" }, who === undefined ? {} : { who });
  }
  /** What is foretold for one lot, and what then really happens. */
  both(drafts: Way[], lot = LOT, hand = ANA): [unknown, unknown] {
    const told = whatIf(this.fold, drafts, hand).find((one) => one.lot === lot);
    const before = this.fold.state().lots[lot];
    const was = { lot, before: before?.balance ?? 0, from: before?.container ?? "" };
    for (const [i, draft] of drafts.entries()) {
      const { raw, sha } = seal({
        id: idOf(`way ${this.count} ${i}`), farm: idOf("farm"), device: hand.device, device_seq: 900 + i, author: hand.author,
        kind: draft.kind, v: 1, occurred_on: draft.occurred_on, recorded_at: hand.now + i, body: draft.body,
      });
      this.take(entryFrom(raw, {
        sha, seq: null, held: null, received_at: hand.now + i, received_on: hand.today, recorded_on: hand.today, stamp_eff: null, role: hand.role,
      }));
    }
    const after = this.fold.state().lots[lot];
    return [told, { ...was, after: after?.balance ?? 0, to: after?.container ?? "" }];
  }
  way(code: string, out: string, choice: object = {}): Way[] {
    const [key = ""] = Object.keys(this.fold.state().problems).filter((one) => one.startsWith(code));
    return waysOut(this.fold, key, out, { today: TODAY, ...choice });
  }
}
const undo = (target: string): Way => ({ kind: "record_voided", body: { target }, occurred_on: TODAY });

describe("what a way out would do", () => {
  it("is what it then does: taking back, counting, and that there were more", () => {
    for (const out of ["void", "recount", "there_were_more"]) {
      const farm = new Farm();
      farm.pack(34);
      farm.sell(20);
      const record = farm.sell(16, "ben");
      const [told, happened] = farm.both(farm.way("negative_balance", out, { count: 3, record }));
      expect(told).toEqual(happened);
      expect(told).toMatchObject({ before: -2, after: { void: 14, recount: 3, there_were_more: 0 }[out] });
    }
  });
  it("sees an undo undone, and what the entry then does to another batch", () => {
    const farm = new Farm();
    farm.pack(34);
    const split = farm.write("2026-12-02", "split", {
      from: [{ lot: LOT, count: 10 }], into: [{ lot: OTHER, count: 10, unit: "tuber", container: BIN }],
    });
    const struck = farm.write("2026-12-03", "record_voided", { target: split });
    expect(farm.fold.state().lots[OTHER]).toBeUndefined();
    const changes = whatIf(farm.fold, [undo(struck)], ANA);
    expect(changes).toContainEqual({ lot: LOT, before: 34, after: 24, from: CRATE, to: CRATE });
    expect(changes).toContainEqual({ lot: OTHER, before: 0, after: 10, from: "", to: BIN });
    const [told, happened] = farm.both([undo(struck)], OTHER);
    expect(told).toEqual(happened);
  });
  it("lets a helper's undo count once it is accepted, and not when she writes it", () => {
    const farm = new Farm();
    farm.pack(34);
    const sold = farm.sell(4);
    const ben: Hand = { ...ANA, author: idOf("ben"), role: "helper" };
    expect(whatIf(farm.fold, [undo(sold)], ben)).toEqual([]);
    farm.write("2026-12-05", "record_voided", { target: sold }, { who: "ben", role: "helper" });
    const [told, happened] = farm.both(farm.way("not_allowed", "accept"));
    expect(told).toMatchObject({ before: 30, after: 34 });
    expect(told).toEqual(happened);
  });
  it("counts an entry that was set aside, as it is or mended", () => {
    const farm = new Farm();
    farm.pack(34);
    const held = farm.write("2026-12-06", "gone_out", { lot: LOT, count: -5, how: "sold" }, { held: "bad_body" });
    const accept = (body: object): Way => ({ kind: "held_resolved", body: { target: held, decision: "accept", ...body }, occurred_on: TODAY });
    expect(whatIf(farm.fold, [accept({})], ANA)).toEqual([]);
    const [told, happened] = farm.both([accept({ as_kind: "gone_out", as_v: 1, as_body: { lot: LOT, count: 5, how: "sold" } })]);
    expect(told).toMatchObject({ before: 34, after: 29 });
    expect(told).toEqual(happened);
  });
  it("follows a batch into the crate it was found in", () => {
    const farm = new Farm();
    farm.pack(34);
    farm.write("2026-12-07", "checked", { crate: BIN, look: "all", lines: [{ lot: LOT, seen: 34, all: true }] });
    const [told, happened] = farm.both(farm.way("lot_elsewhere", "move_here"));
    expect(told).toMatchObject({ from: CRATE, to: BIN });
    expect(told).toEqual(happened);
  });
  it("says nothing when nothing changes, and writes nothing", () => {
    const farm = new Farm();
    const packed = farm.pack(34);
    const before = JSON.stringify(farm.fold.state());
    expect(whatIf(farm.fold, [{ kind: "problem_accepted", body: { problem: "x" }, occurred_on: TODAY }], ANA)).toEqual([]);
    expect(whatIf(farm.fold, [undo("f".repeat(64))], ANA)).toEqual([]);
    expect(whatIf(farm.fold, [undo(packed)], ANA)).toEqual([{ lot: LOT, before: 34, after: 0, from: CRATE, to: "" }]);
    expect(JSON.stringify(farm.fold.state())).toBe(before);
  });
});

it("tells how a count came about, in the order of the history", () => {
  const farm = new Farm();
  const packed = farm.pack(34);
  const second = farm.sell(16);
  const counted = farm.write("2026-12-20", "counted", { lot: LOT, count: 20 });
  const steps = postedTo(farm.fold, LOT);
  expect(steps.map((one) => [one.record, one.account, one.amount])).toEqual([
    [packed, "found", 34], [second, "gone_out", -16], [counted, "difference", 2],
  ]);
  expect(steps.reduce((sum, one) => sum + one.amount, 0)).toBe(farm.fold.state().lots[LOT]?.balance);
});
