/** A server that answers with what it should not: the round ends with a reason, and nothing is lost. */
import { expect, test } from "vitest";
import { entryMaker, OTHER_PHONE, PHONE } from "../store/testing/entries.ts";
import { TryLater } from "./round.ts";
import { ModelServer, sha } from "./testing/model-server.ts";
import { Phone } from "./testing/phone.ts";
import { NoAnswer, type Transport } from "./transport.ts";

/** A connection that gives up after so many requests, so that a round without end fails. */
function patient(most: number, wire: Transport): Transport {
  let asked = 0;
  const count = (): void => {
    asked += 1;
    if (asked > most) throw new Error(`more than ${most} requests in one round`);
  };
  return {
    push: (request) => {
      count();
      return wire.push(request);
    },
    pull: (after, limit) => {
      count();
      return wire.pull(after, limit);
    },
  };
}

async function codeOf(round: Promise<void>): Promise<string> {
  const error = await round.then(() => null, (thrown: unknown) => thrown);
  expect(error).toBeInstanceOf(TryLater);
  return (error as TryLater).code;
}

test("an answer without verdicts ends the round, and the entries are still to be sent", async () => {
  const ana = new Phone(new ModelServer());
  await ana.save();
  const wire = patient(10, { ...plain(ana), push: () => Promise.resolve({ refused: false, body: { verdicts: [] } }) });
  expect(await codeOf(ana.sync(wire))).toBe("no_verdict");
  expect(await ana.store.counts()).toEqual({ saved: 1, sent: 0, stuck: 0 });
});

test("a verdict on an entry that was not in the request is not believed", async () => {
  const ana = new Phone(new ModelServer());
  const rows = await ana.store.save(PHONE, Array.from({ length: 230 }, () => entryMaker()));
  const verdicts = rows.map((row, i) => ({ sha256: row.sha, verdict: "stored" as const, seq: i + 1 }));
  let pushes = 0;
  const wire: Transport = {
    ...plain(ana),
    push: () => {
      pushes += 1;
      if (pushes > 1) return Promise.reject(new NoAnswer());
      return Promise.resolve({ refused: false, body: { verdicts } });
    },
  };
  await expect(ana.sync(wire)).rejects.toBeInstanceOf(NoAnswer);
  expect(await ana.store.counts()).toEqual({ saved: 30, sent: 200, stuck: 0 });
});

test("verdicts on entries that never come in the feed settle nothing, and the round says so", async () => {
  const server = new ModelServer();
  const ana = new Phone(server);
  await ana.save();
  const wire = patient(30, {
    ...plain(ana),
    push: (request) =>
      Promise.resolve({
        refused: false,
        body: { verdicts: request.records.map((raw) => ({ sha256: sha(raw), verdict: "stored" as const, seq: 1 })) },
      }),
  });
  expect(await codeOf(ana.sync(wire))).toBe("not_settled");
  const { saved, sent } = await ana.store.counts();
  expect(saved + sent).toBe(1);
});

test("an empty page before the head ends the round", async () => {
  const ana = new Phone(new ModelServer());
  const head = { seq: 5, chain: "ab".repeat(16) };
  const wire = patient(10, { ...plain(ana), pull: () => Promise.resolve({ refused: false, body: { entries: [], head } }) });
  expect(await codeOf(ana.sync(wire))).toBe("empty_page");
});

test("a head with the right number and another link is another history", async () => {
  const server = new ModelServer();
  const ana = new Phone(server);
  await ana.save();
  await ana.sync();
  const wire = patient(20, {
    ...plain(ana),
    pull: (after, limit) => {
      const answer = server.pull(after, limit);
      if (!answer.refused) answer.body.head.chain = "ab".repeat(16);
      return Promise.resolve(answer);
    },
  });
  expect(await codeOf(ana.sync(wire))).toBe("history_changed");
  expect(await ana.store.epoch()).toBe(1);
  await ana.sync();
  expect(await ana.store.cursor()).toEqual(server.head());
  expect(await ana.store.counts()).toEqual({ saved: 0, sent: 0, stuck: 0 });
});

test("bytes that no request can carry are set aside, and the others flow on", async () => {
  const server = new ModelServer();
  const ana = new Phone(server);
  await ana.store.save(PHONE, [
    () => ({
      stamp: null,
      row: {
        sha: "00".repeat(32), raw: new Uint8Array([0x22, 0xe4, 0x22]), device: "", device_seq: 0, due: "saved", seq: null,
        held: "unreadable", received_at: 0, received_on: "2027-01-15", recorded_on: "2027-01-15", stamp_eff: null, role: "",
        relayed_by: null,
      },
    }),
  ]);
  await ana.save();
  await ana.sync();
  expect(await ana.store.counts()).toEqual({ saved: 0, sent: 0, stuck: 1 });
  expect((await ana.store.due("stuck", 9)).map((row) => row.stuck?.code)).toEqual(["unreadable"]);
  expect(server.log.map((one) => one.raw)).toEqual(ana.shown);
});

test("a page from the middle of the feed, each link of it sound, is not taken", async () => {
  const server = new ModelServer();
  const ana = new Phone(server);
  const ben = new Phone(server, OTHER_PHONE);
  for (let i = 0; i < 4; i += 1) await ben.save();
  await ben.sync();
  const wire = patient(20, {
    ...plain(ana),
    pull: () => Promise.resolve({ refused: false, body: { entries: structuredClone(server.log.slice(2)), head: server.head() } }),
  });
  expect(await codeOf(ana.sync(wire))).toBe("history_changed");
  expect(await ana.store.all()).toEqual([]);
  expect((await ana.store.cursor()).seq).toBe(0);
});

/** The phone's own wire, as functions that can be replaced one by one. */
function plain(phone: Phone): Transport {
  return { push: (request) => phone.wire.push(request), pull: (after, limit) => phone.wire.pull(after, limit) };
}
