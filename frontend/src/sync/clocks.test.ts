/**
 * Clocks are claims. Wherever a phone's clock stands, its entries are kept and sent, and
 * no clock outranks the server's; who has seen an edit and makes another wins.
 */
import { readFileSync } from "node:fs";
import fc from "fast-check";
import { expect, test } from "vitest";
import { compareStamps, type Stamp } from "../core/sync/stamp.ts";
import { OTHER_PHONE } from "../store/testing/entries.ts";
import { civilDate } from "./civil-date.ts";
import { ModelServer } from "./testing/model-server.ts";
import { Phone } from "./testing/phone.ts";

const DAY_MS = 86_400_000;
const YEAR_MS = 365 * DAY_MS;

interface Dates {
  cases: { zone: string; utc: string; date: string; why: string }[];
}

// The server's tests read the same file; its sources stand in it.
const { cases } = JSON.parse(
  readFileSync(new URL("../../../tests/reference/dates.json", import.meta.url), "utf-8"),
) as Dates;

test.each(cases)("$zone, $utc: $why", ({ zone, utc, date }) => {
  expect(civilDate(Date.parse(utc), zone)).toBe(date);
});

function edit(phone: Phone, value: string, at: number): Promise<string> {
  return phone.save({ kind: "field_set", at, body: { table: "crates", row: OTHER_PHONE, field: "number", value } });
}

async function lastStamp(phone: Phone): Promise<Stamp> {
  const rows = (await phone.store.all()).filter((row) => row.stamp_eff !== null);
  return rows.map((row) => row.stamp_eff ?? ([0, 0] as const)).reduce((a, b) => (compareStamps(a, b) < 0 ? b : a));
}

/** The value that stands on the server: the greatest effective stamp, then the feed. */
function standing(server: ModelServer): string {
  const edits = server.log.filter((one) => one.stamp_eff !== undefined);
  const last = edits.reduce((a, b) => (compareStamps(a.stamp_eff ?? [0, 0], b.stamp_eff ?? [0, 0]) <= 0 ? b : a));
  return (JSON.parse(last.raw) as { body: { value: string } }).body.value;
}

test.each([
  ["ten years slow", -10 * YEAR_MS],
  ["a day slow", -DAY_MS],
  ["right", 0],
  ["a day fast", DAY_MS],
  ["ten years fast", 10 * YEAR_MS],
])("a phone whose clock is %s syncs, and the next honest edit wins over its own", async (_, shift) => {
  const server = new ModelServer();
  const odd = new Phone(server);
  const honest = new Phone(server, OTHER_PHONE);
  await edit(odd, "odd", server.now + shift);
  await odd.save({ at: server.now + shift });
  await odd.sync();
  expect(await odd.store.counts()).toEqual({ saved: 0, sent: 0, stuck: 0 });
  for (const { stamp_eff, received_at } of server.log) {
    if (stamp_eff) expect(stamp_eff[0]).toBeLessThanOrEqual(received_at);
  }
  await honest.sync();
  await edit(honest, "honest", server.now);
  await honest.sync();
  expect(standing(server)).toBe("honest");
  await odd.sync();
  await edit(odd, "odd again", server.now + shift);
  await odd.sync();
  expect(standing(server)).toBe("odd again");
});

test("a clock that jumps between two entries moves no number and no order of the phone's own", async () => {
  const server = new ModelServer();
  const phone = new Phone(server);
  const shifts = [0, 10 * YEAR_MS, -10 * YEAR_MS, 0, -1];
  for (const [i, shift] of shifts.entries()) await edit(phone, String(i), server.now + shift);
  const rows = (await phone.store.all()).sort((a, b) => a.device_seq - b.device_seq);
  expect(rows.map((row) => row.device_seq)).toEqual([1, 2, 3, 4, 5]);
  const stamps = rows.map((row) => row.stamp_eff ?? ([0, 0] as const));
  for (const [i, stamp] of stamps.entries()) {
    if (i > 0) expect(compareStamps(stamps[i - 1] ?? [0, 0], stamp)).toBeLessThan(0);
  }
  await phone.sync();
  expect(await phone.store.counts()).toEqual({ saved: 0, sent: 0, stuck: 0 });
  expect(server.log.map((one) => (JSON.parse(one.raw) as { device_seq: number }).device_seq)).toEqual([1, 2, 3, 4, 5]);
});

test("two edits in one millisecond have two stamps, also after the app was started again", async () => {
  const server = new ModelServer();
  const phone = new Phone(server);
  await edit(phone, "one", server.now);
  phone.restart();
  await edit(phone, "two", server.now);
  await phone.sync();
  expect(server.log.map((one) => one.stamp_eff)).toEqual([[server.now - 2, 0], [server.now - 2, 1]]);
  expect(standing(server)).toBe("two");
});

test("whatever the clocks, whoever has pulled and then edits wins", async () => {
  const turn = fc.record({
    who: fc.nat(1),
    shift: fc.constantFrom(-10 * YEAR_MS, -DAY_MS, -1, 0, 1, DAY_MS, 10 * YEAR_MS),
  });
  await fc.assert(
    fc.asyncProperty(fc.array(turn, { minLength: 2, maxLength: 8 }), async (turns) => {
      const server = new ModelServer();
      const phones = [new Phone(server), new Phone(server, OTHER_PHONE)];
      for (const [i, { who, shift }] of turns.entries()) {
        const phone = phones[who];
        if (!phone) throw new Error("no such phone");
        await phone.sync();
        const seen = i === 0 ? null : await lastStamp(phone);
        await edit(phone, String(i), server.now + shift);
        if (seen) expect(compareStamps(seen, await lastStamp(phone))).toBeLessThan(0);
        await phone.sync();
        expect(standing(server)).toBe(String(i));
      }
      for (const phone of phones) phone.store.close();
    }),
    { seed: 5, numRuns: 12 },
  );
});
