import { afterEach, expect, test } from "vitest";
import { backoffMs, SyncLoop } from "./loop.ts";
import { ModelServer } from "./testing/model-server.ts";
import { Phone } from "./testing/phone.ts";

const loops: SyncLoop[] = [];

afterEach(() => {
  for (const loop of loops.splice(0)) loop.close();
});

/** A loop whose pauses are told instead of waited for; `pass` ends the one it is in. */
function running(phone: Phone) {
  const pauses: number[] = [];
  let pass: () => void = () => undefined;
  let reached: () => void = () => undefined;
  let paused = new Promise<void>((resolve) => {
    reached = resolve;
  });
  const loop = new SyncLoop({
    store: phone.store,
    transport: phone.wire,
    now: () => phone.server.now,
    random: () => 0,
    app: "1",
    device: phone.device,
    lock: (act) => act(),
    changed: () => undefined,
    wait: (ms, signal) => {
      pauses.push(ms);
      reached();
      return new Promise((resolve) => {
        pass = resolve;
        signal.addEventListener("abort", () => resolve());
      });
    },
  });
  loops.push(loop);
  void loop.run();
  return {
    loop,
    pauses,
    paused: () => paused,
    next: () => {
      paused = new Promise<void>((resolve) => {
        reached = resolve;
      });
      pass();
      return paused;
    },
  };
}

test("a pause doubles up to five minutes and is never less than half of that", () => {
  expect([0, 1, 2, 3].map((tries) => backoffMs(2000, tries, 1))).toEqual([2000, 4000, 8000, 16000]);
  expect(backoffMs(2000, 50, 1)).toBe(300_000);
  expect(backoffMs(2000, 50, 0)).toBe(150_000);
});

test("without connection it tries again ever later; a success brings it back", async () => {
  const phone = new Phone(new ModelServer());
  phone.wire.faults = ["request_lost", "request_lost", "request_lost"];
  const { loop, pauses, paused, next } = running(phone);
  await paused();
  expect(loop.state).toMatchObject({ phase: "waiting", last_error: "no_connection" });
  await next();
  await next();
  await next();
  expect(pauses).toEqual([1000, 2000, 4000, 15_000]);
  expect(loop.state).toMatchObject({ phase: "idle", last_error: null, last_ok_at: phone.server.now });
});

test("a phone back in reach tries again within seconds, though it failed for hours before", async () => {
  const phone = new Phone(new ModelServer());
  phone.wire.faults = Array.from({ length: 9 }, () => "request_lost" as const);
  const { loop, pauses, paused, next } = running(phone);
  await paused();
  for (let i = 0; i < 7; i += 1) await next();
  expect(pauses.at(-1)).toBe(128_000);
  const tried = next(); // the timer of the pause, or the nudge: one of them ends it
  loop.nudge(); // online, says the phone, but its first request is lost as well
  await tried;
  expect(pauses.at(-1)).toBe(1000);
  await next();
  expect(loop.state.phase).toBe("idle");
});

test("a quiet farm is asked ever more rarely, up to five minutes", async () => {
  const { pauses, paused, next } = running(new Phone(new ModelServer()));
  await paused();
  for (let i = 0; i < 5; i += 1) await next();
  expect(pauses).toEqual([15_000, 30_000, 60_000, 120_000, 150_000, 150_000]);
});

test("a save is sent without waiting for the timer", async () => {
  const phone = new Phone(new ModelServer());
  const { loop, paused } = running(phone);
  await paused();
  await phone.save();
  loop.nudge();
  await loop.now();
  expect(phone.server.log).toHaveLength(1);
});

test("time the server asks for is kept through nudges, but not against a person's wish", async () => {
  const phone = new Phone(new ModelServer());
  phone.server.status = { status: 503, code: "busy", retryAfterMs: 60_000 };
  const { loop, pauses, paused } = running(phone);
  await paused();
  expect(pauses).toEqual([60_000]);
  phone.server.status = null;
  const asked = phone.server.seen.pull;
  loop.nudge();
  await new Promise((resolve) => setImmediate(resolve));
  expect(phone.server.seen.pull).toBe(asked);
  await loop.now();
  expect(phone.server.seen.pull).toBeGreaterThan(asked);
  expect(loop.state.phase).toBe("idle");
});

test("after the end nothing runs and nobody waits for ever", async () => {
  const phone = new Phone(new ModelServer());
  const { loop, paused } = running(phone);
  await paused();
  loop.close();
  await loop.now();
  expect(phone.server.seen.pull).toBe(1);
});
