import { afterEach, beforeEach, expect, test } from "vitest";
import { OTHER_PHONE } from "../store/testing/entries.ts";
import { Killed, Killer } from "../store/testing/killer.ts";
import { ModelServer, sha } from "./testing/model-server.ts";
import { Phone } from "./testing/phone.ts";
import type { Transport } from "./transport.ts";

const killer = new Killer();
beforeEach(() => killer.install());
afterEach(() => killer.remove());

/** A connection on which the program may end before the request leaves and after the reply came. */
function dyingWire(wire: Transport): Transport {
  return {
    push: async (request) => {
      killer.tick();
      const answer = await wire.push(request);
      killer.tick();
      return answer;
    },
    pull: async (after, limit) => {
      killer.tick();
      const answer = await wire.pull(after, limit);
      killer.tick();
      return answer;
    },
  };
}

interface Life {
  server: ModelServer;
  ana: Phone;
  /** Rejects when the program ended before the life was over. */
  run: () => Promise<void>;
}

/** Saves and syncs, with entries of another phone in the feed and small pages. */
async function prepared(): Promise<Life> {
  const server = new ModelServer();
  server.pageSize = 2;
  const ana = new Phone(server);
  const ben = new Phone(server, OTHER_PHONE);
  for (let i = 0; i < 3; i += 1) await ben.save();
  await ben.sync();
  return {
    server,
    ana,
    run: async () => {
      const wire = dyingWire(ana.wire);
      await ana.save();
      await ana.save({ kind: "field_set", body: { table: "crates", row: OTHER_PHONE, field: "name", value: "N" } });
      await ana.sync(wire);
      await ana.save();
      await ana.sync(wire);
    },
  };
}

/** The same, in which the server is restored to an older day between the two rounds. */
async function preparedWithRestore(): Promise<Life> {
  const life = await prepared();
  const { server, ana } = life;
  const backup = server.backup().slice(0, 1);
  return {
    ...life,
    run: async () => {
      const wire = dyingWire(ana.wire);
      await ana.save();
      await ana.sync(wire);
      server.restore(backup);
      await ana.save();
      await ana.sync(wire);
    },
  };
}

async function killedAt(step: number, prepare: () => Promise<Life>): Promise<{ died: boolean; steps: number }> {
  killer.disarm();
  const { server, ana, run } = await prepare();
  killer.arm(step);
  const life = run().catch((error: unknown) => {
    if (!killer.dead) throw error;
  });
  await Promise.race([life, killer.death]);
  const { dead: died, step: steps } = killer;
  killer.disarm();
  ana.restart();

  const kept = new Set(await ana.texts());
  for (const text of ana.shown) {
    expect(kept.has(text) || server.has(text), `shown as saved, killed at step ${step}`).toBe(true);
    expect(kept.has(text), `in this phone's store, killed at step ${step}`).toBe(true);
  }
  const cursor = await ana.store.cursor();
  const settled = (await ana.store.all()).filter((row) => row.seq !== null && row.seq <= cursor.seq);
  expect(settled).toHaveLength(cursor.seq);

  await ana.save();
  await ana.sync();
  expect(await ana.store.counts()).toEqual({ saved: 0, sent: 0, stuck: 0 });
  expect(await ana.store.cursor()).toEqual(server.head());
  for (const text of ana.shown) expect(server.has(text)).toBe(true);
  expect(new Set(server.log.map((one) => sha(one.raw))).size).toBe(server.log.length);
  const own = (await ana.store.all()).filter((row) => row.device === ana.device);
  expect(new Set(own.map((row) => row.device_seq)).size).toBe(own.length);
  ana.store.close();
  return { died, steps };
}

test.each<[string, () => Promise<Life>, number]>([
  ["saves and rounds", prepared, 40],
  ["a restored server", preparedWithRestore, 40],
])("%s: ended at each step and started again, nothing shown as saved is lost", async (_, prepare, atLeast) => {
  let step = 1;
  for (; ; step += 1) {
    const { died } = await killedAt(step, prepare);
    if (!died) break;
  }
  expect(step).toBeGreaterThan(atLeast);
}, 120_000);

test("the killer does kill: a save in the middle of which the phone dies is not shown", async () => {
  const { ana } = await prepared();
  killer.arm(4);
  const saved = ana.save().then(() => "saved").catch(() => "failed");
  expect(await Promise.race([saved, killer.death.then(() => "dead")])).not.toBe("saved");
  expect(killer.dead).toBe(true);
  expect(() => killer.tick()).toThrow(Killed);
  killer.disarm();
  ana.restart();
  expect(await ana.texts()).toEqual([]);
});
