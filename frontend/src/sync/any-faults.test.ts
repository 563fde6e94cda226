import fc from "fast-check";
import { expect, test } from "vitest";
import { OTHER_PHONE, PHONE } from "../store/testing/entries.ts";
import { SignedOut, TryLater } from "./round.ts";
import { ModelServer, sha, type Fault, type Stored } from "./testing/model-server.ts";
import { Phone } from "./testing/phone.ts";
import { NoAnswer } from "./transport.ts";

type Act =
  | { do: "save"; who: number; kind: string }
  | { do: "sync"; who: number; faults: Fault[] }
  | { do: "restart"; who: number }
  | { do: "backup" }
  | { do: "restore" }
  | { do: "clock"; by: number }
  | { do: "poison"; on: boolean };

const who = fc.nat(2);
const fault = fc.constantFrom<Fault>(null, null, null, "request_lost", "reply_lost", "twice", "cut_front", "cut_end");
const act: fc.Arbitrary<Act> = fc.oneof(
  { weight: 4, arbitrary: fc.record({ do: fc.constant("save" as const), who, kind: fc.constantFrom("emptied", "field_set", "poison") }) },
  { weight: 5, arbitrary: fc.record({ do: fc.constant("sync" as const), who, faults: fc.array(fault, { maxLength: 6 }) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("restart" as const), who }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("backup" as const) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("restore" as const) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("clock" as const), by: fc.constantFrom(-1e9, 60_000, 1e9) }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant("poison" as const), on: fc.boolean() }) },
);


const met = { conflicts: 0, duplicates: 0, crashes: 0, restores: 0, lost: 0 };

class World {
  readonly server = new ModelServer();
  readonly phones = [PHONE, OTHER_PHONE, PHONE.replace(/3$|2$/, "9")].map((id) => new Phone(this.server, id));
  private kept: Stored[] = [];

  constructor() {
    this.server.pageSize = 3;
  }

  async run(act: Act): Promise<void> {
    switch (act.do) {
      case "save":
        await this.save(this.phone(act.who), act.kind);
        break;
      case "sync":
        await this.sync(this.phone(act.who), act.faults);
        break;
      case "restart":
        this.phone(act.who).restart();
        break;
      case "backup":
        this.kept = this.server.backup();
        break;
      case "restore":
        met.restores += 1;
        this.server.restore(this.kept);
        break;
      case "clock":
        this.server.now = Math.max(1, this.server.now + act.by);
        break;
      case "poison":
        this.server.poison = act.on ? "poison" : null;
        break;
    }
  }

  private phone(who: number): Phone {
    const phone = this.phones[who];
    if (!phone) throw new Error("no such phone");
    return phone;
  }

  private async save(phone: Phone, kind: string): Promise<void> {
    if (kind === "field_set") {
      await phone.save({ kind, body: { table: "crates", row: PHONE, field: "name", value: phone.device } });
    } else {
      await phone.save({ body: { crate: PHONE, ...(kind === "poison" ? { note: "poison" } : {}) } });
    }
  }

  private async sync(phone: Phone, faults: Fault[]): Promise<void> {
    phone.wire.faults = [...faults];
    try {
      await phone.sync();
    } catch (error) {
      if (!(error instanceof NoAnswer || error instanceof TryLater || error instanceof SignedOut)) throw error;
      met.lost += 1;
    } finally {
      phone.wire.faults = [];
    }
    await this.checkPrefix(phone);
  }

  /** Cursor n means holding entries 1 to n as that history had them. */
  private async checkPrefix(phone: Phone): Promise<void> {
    const cursor = await phone.store.cursor();
    const rows = (await phone.store.all()).filter((row) => row.seq !== null);
    expect(rows.map((row) => row.seq).sort((a, b) => Number(a) - Number(b))).toEqual(
      Array.from({ length: cursor.seq }, (_, i) => i + 1),
    );
  }

  /** All is well again: nothing that was ever shown as saved is missing anywhere. */
  async heal(): Promise<void> {
    this.server.poison = null;
    for (let round = 0; round < 3; round += 1) {
      for (const phone of this.phones) {
        phone.app = "a later build";
        await phone.sync();
      }
    }
    const log = this.server.log.map((one) => one.raw);
    expect(new Set(log.map(sha)).size).toBe(log.length);
    for (const phone of this.phones) {
      for (const raw of phone.shown) expect(log).toContain(raw);
      expect((await phone.texts()).sort()).toEqual([...log].sort());
      expect(await phone.store.cursor()).toEqual(this.server.head());
      expect(await phone.store.counts()).toEqual({ saved: 0, sent: 0, stuck: 0 });
      for (const row of await phone.store.all()) {
        const { stamp_eff = null, received_at } = this.server.log[Number(row.seq) - 1] ?? {};
        expect([row.stamp_eff, row.received_at]).toEqual([stamp_eff, received_at]);
        if (stamp_eff) expect(stamp_eff[0]).toBeLessThanOrEqual(Number(received_at));
      }
      phone.store.close();
    }
    const { conflicts, duplicates, crashes } = this.server.seen;
    met.conflicts += conflicts;
    met.duplicates += duplicates;
    met.crashes += crashes;
  }
}

test("whatever goes wrong on the way, nothing shown as saved is lost and all phones agree", async () => {
  await fc.assert(
    fc.asyncProperty(fc.array(act, { minLength: 5, maxLength: 40 }), async (acts) => {
      const world = new World();
      for (const one of acts) await world.run(one);
      await world.heal();
    }),
    { seed: 11, numRuns: 120 },
  );
  for (const [what, times] of Object.entries(met)) expect(times, what).toBeGreaterThan(5);
}, 180_000);
