import { expect, test } from "vitest";
import { entryMaker, OTHER_PHONE, PHONE } from "../store/testing/entries.ts";
import { SignedOut, TryLater } from "./round.ts";
import { ModelServer, sha } from "./testing/model-server.ts";
import { Phone } from "./testing/phone.ts";
import { NoAnswer } from "./transport.ts";

function farm(): { server: ModelServer; ana: Phone; ben: Phone } {
  const server = new ModelServer();
  return { server, ana: new Phone(server), ben: new Phone(server, OTHER_PHONE) };
}

async function settled(phone: Phone): Promise<void> {
  expect(await phone.store.counts()).toEqual({ saved: 0, sent: 0, stuck: 0 });
  expect(await phone.store.cursor()).toEqual(phone.server.head());
}

test("two phones end with the same entries, each once on the server", async () => {
  const { server, ana, ben } = farm();
  await ana.save();
  await ben.save();
  await ana.sync();
  await ben.sync();
  await ana.sync();
  await settled(ana);
  await settled(ben);
  expect(server.log).toHaveLength(2);
  expect((await ana.texts()).sort()).toEqual((await ben.texts()).sort());
});

test("a lost reply, a lost request and a double delivery change nothing", async () => {
  const { server, ana } = farm();
  await ana.save();
  ana.wire.faults = ["reply_lost"];
  await expect(ana.sync()).rejects.toBeInstanceOf(NoAnswer);
  expect((await ana.store.counts()).saved).toBe(1);
  ana.wire.faults = ["request_lost"];
  await expect(ana.sync()).rejects.toBeInstanceOf(NoAnswer);
  ana.wire.faults = ["twice"];
  await ana.sync();
  await settled(ana);
  expect(server.log).toHaveLength(1);
  expect(server.seen.duplicates).toBe(2);
});

test("a verdict alone settles nothing; the feed does", async () => {
  const { ana } = farm();
  await ana.save();
  ana.wire.faults = [null, "request_lost"];
  await expect(ana.sync()).rejects.toBeInstanceOf(NoAnswer);
  expect(await ana.store.counts()).toEqual({ saved: 0, sent: 1, stuck: 0 });
});

test("sent, then the server is restored before the phone has pulled: sent again at the head", async () => {
  // The cursor still matches, so only "sent but not in the feed" can notice.
  const { server, ana } = farm();
  const empty = server.backup();
  await ana.save();
  ana.wire.faults = [null, "request_lost"];
  await expect(ana.sync()).rejects.toBeInstanceOf(NoAnswer);
  expect(server.log).toHaveLength(1);
  server.restore(empty);
  await ana.sync();
  await settled(ana);
  expect(server.log.map((one) => one.raw)).toEqual(ana.shown);
  expect(server.seen.conflicts).toBe(0);
});

test("a restored server gets back what only the phones hold, own or not", async () => {
  const { server, ana, ben } = farm();
  await ana.save();
  await ana.sync();
  const backup = server.backup();
  await ana.save();
  await ben.save();
  await ana.sync();
  await ben.sync();
  server.restore(backup);
  ben.shown.length = 0; // Ben's phone is gone; what Ana pulled from him is not.
  await ana.sync();
  expect(server.log).toHaveLength(2);
  server.restore(backup);
  await ben.sync();
  await settled(ben);
  expect(server.log).toHaveLength(3);
  expect(server.seen.conflicts).toBeGreaterThanOrEqual(1);
});

test("a restored server that has grown past the cursor is noticed by the chain", async () => {
  const { server, ana, ben } = farm();
  await ana.save();
  await ana.sync();
  server.restore([]);
  for (let i = 0; i < 3; i += 1) await ben.save();
  await ben.sync();
  await ana.sync();
  await settled(ana);
  await ben.sync();
  expect(server.log).toHaveLength(4);
  expect(server.seen.conflicts).toBe(1);
  expect((await ana.texts()).sort()).toEqual((await ben.texts()).sort());
});

test("after a restore the server's new stamps and numbers are taken", async () => {
  // The same records in the same order, but a stamp clamped anew: the keys alone would match.
  const { server, ana, ben } = farm();
  await ana.save({ kind: "field_set", body: { table: "crates", row: PHONE, field: "name", value: "x" }, at: server.now + 1e6 });
  await ana.sync();
  await ben.sync();
  server.restore([]);
  server.now += 5000;
  await ana.sync();
  await ben.sync();
  const [mine] = await ana.store.all();
  const [theirs] = await ben.store.all();
  expect(mine?.stamp_eff).toEqual(server.log[0]?.stamp_eff);
  expect(theirs?.stamp_eff).toEqual(server.log[0]?.stamp_eff);
});

test("a reply cut off at the front is taken as a changed history, and healed", async () => {
  const { server, ana, ben } = farm();
  for (let i = 0; i < 5; i += 1) await ben.save();
  await ben.sync();
  ana.wire.faults = ["cut_front"];
  await ana.sync();
  await settled(ana);
  expect(await ana.texts()).toHaveLength(5);
  expect(await ana.store.epoch()).toBe(1);
  expect(server.log).toHaveLength(5);
});

test("a reply cut off at the end is simply continued", async () => {
  const { ana, ben } = farm();
  for (let i = 0; i < 5; i += 1) await ben.save();
  await ben.sync();
  ana.wire.faults = ["cut_end"];
  await ana.sync();
  await settled(ana);
  expect(await ana.store.epoch()).toBe(0);
});

test("a feed with a changed entry in it is not believed", async () => {
  const { server, ana, ben } = farm();
  await ben.save();
  await ben.save();
  await ben.sync();
  const honest = server.backup();
  const [first] = server.log;
  if (first) first.role = "owner";
  await expect(ana.sync()).rejects.toBeInstanceOf(TryLater);
  expect(await ana.store.all()).toEqual([]);
  server.restore(honest);
  await ana.sync();
  await settled(ana);
});

test("an entry the server cannot take is set aside alone, the rest flows on", async () => {
  const { server, ana } = farm();
  for (let i = 0; i < 7; i += 1) await ana.save(i === 3 ? { body: { note: "poison" } } : {});
  server.poison = "poison";
  await ana.sync();
  expect(await ana.store.counts()).toEqual({ saved: 0, sent: 0, stuck: 1 });
  expect(server.log).toHaveLength(6);
  expect(server.seen.crashes).toBeGreaterThan(1);
  const [stuck] = await ana.store.due("stuck", 9);
  expect(stuck?.raw).toContain("poison");
  server.poison = null;
  await ana.sync();
  expect((await ana.store.counts()).stuck).toBe(1);
  ana.app = "2";
  await ana.sync();
  await settled(ana);
  expect(server.log).toHaveLength(7);
});

test("a stuck entry is tried again after a day", async () => {
  const { server, ana } = farm();
  await ana.save({ body: { note: "poison" } });
  server.poison = "poison";
  await ana.sync();
  server.poison = null;
  server.now += 24 * 3600 * 1000;
  await ana.sync();
  await settled(ana);
});

test("a server that fails on everything is ill: no entry is blamed", async () => {
  const { server, ana } = farm();
  for (let i = 0; i < 5; i += 1) await ana.save();
  server.status = { status: 500, code: "", retryAfterMs: null };
  await expect(ana.sync()).rejects.toBeInstanceOf(TryLater);
  expect(await ana.store.counts()).toEqual({ saved: 5, sent: 0, stuck: 0 });
});

test("a batch that is too large is halved", async () => {
  const { server, ana } = farm();
  await ana.store.save(PHONE, Array.from({ length: 30 }, () => entryMaker({ at: server.now })));
  server.mostRecords = 4;
  await ana.sync();
  await settled(ana);
  expect(server.log).toHaveLength(30);
});

test.each([401, 403])("%d: everything is kept and the phone is signed out", async (status) => {
  const { server, ana } = farm();
  await ana.save();
  server.status = { status, code: "revoked", retryAfterMs: null };
  await expect(ana.sync()).rejects.toBeInstanceOf(SignedOut);
  expect((await ana.store.counts()).saved).toBe(1);
  server.status = null;
  await ana.sync();
  await settled(ana);
});

test.each([429, 503])("%d: tried later, after the time asked for", async (status) => {
  const { server, ana } = farm();
  await ana.save();
  server.status = { status, code: "busy", retryAfterMs: 7000 };
  const error = await ana.sync().catch((thrown: unknown) => thrown);
  expect(error).toBeInstanceOf(TryLater);
  expect((error as TryLater).afterMs).toBe(7000);
  expect((await ana.store.counts()).saved).toBe(1);
});

test("a push holds 200 entries and one megabyte at most, oldest first", async () => {
  const { server, ana } = farm();
  const note = "x".repeat(60_000);
  await ana.store.save(PHONE, Array.from({ length: 20 }, () => entryMaker({ body: { note } })));
  await ana.store.save(PHONE, Array.from({ length: 230 }, () => entryMaker()));
  const sizes: number[] = [];
  const counts: number[] = [];
  await ana.sync({
    push: async (request) => {
      sizes.push(JSON.stringify(request).length);
      counts.push(request.records.length);
      return Promise.resolve(server.push(request));
    },
    pull: (after, limit) => Promise.resolve(server.pull(after, limit)),
  });
  expect(Math.max(...sizes)).toBeLessThanOrEqual(1024 * 1024 + 200);
  expect(Math.max(...counts)).toBeLessThanOrEqual(200);
  expect(counts.reduce((a, b) => a + b)).toBe(250);
  const order = server.log.map((one) => (JSON.parse(one.raw) as { device_seq: number }).device_seq);
  expect(order).toEqual(Array.from({ length: 250 }, (_, i) => i + 1));
});

test("bytes that are no text travel back to a restored server as they came", async () => {
  const { server, ana } = farm();
  const raw = '"\ud800"';
  const bytes = new Uint8Array([0x22, 0xed, 0xa0, 0x80, 0x22]);
  const given: string[] = [];
  await ana.store.save(PHONE, [
    () => ({
      stamp: null,
      row: {
        sha: sha("bytes"), raw: bytes, device: "", device_seq: 0, due: "saved", seq: null, held: "unreadable",
        received_at: 0, received_on: "2027-01-15", recorded_on: "2027-01-15", stamp_eff: null, role: "", relayed_by: null,
      },
    }),
  ]);
  await ana
    .sync({
      push: (request) => {
        given.push(...request.records);
        return Promise.reject(new NoAnswer());
      },
      pull: (after, limit) => Promise.resolve(server.pull(after, limit)),
    })
    .catch(() => undefined);
  expect(given).toEqual([raw]);
});

test("progress counts what was sent and what is still to come", async () => {
  const { server, ana, ben } = farm();
  for (let i = 0; i < 5; i += 1) await ben.save();
  await ben.sync();
  server.pageSize = 2;
  await ana.save();
  await ana.sync();
  expect(ana.progress).toContain("pushing 1/1");
  expect(ana.progress).toContain("pulling 2/6");
  expect(ana.progress).toContain("pulling 4/6");
  expect(ana.progress).toContain("pulling 6/6");
});
