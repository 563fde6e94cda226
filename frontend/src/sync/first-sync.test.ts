import { afterEach, expect, test } from "vitest";
import { ANA, CRATE, entryMaker, FARM, OTHER_PHONE, PHONE } from "../store/testing/entries.ts";
import { openSessions, type EnrolAnswer, type FarmSession, type SessionList } from "./session.ts";
import { Browser } from "./testing/browser.ts";
import { ModelServer } from "./testing/model-server.ts";

const answer: EnrolAnswer = {
  token: "secret",
  device: { id: PHONE, name: "Ana's phone" },
  member: { id: ANA, name: "Ana", role: "owner" },
  farm: { id: FARM, name: "Low Meadow", time_zone: "UTC", as_of: null },
  members: [{ id: ANA, name: "Ana", role: "owner" }],
};

const lists: SessionList[] = [];
afterEach(() => {
  for (const list of lists.splice(0)) list.current?.close();
});

async function window(browser: Browser): Promise<SessionList> {
  const list = await openSessions(browser.surroundings());
  lists.push(list);
  return list;
}

/** A farm with so many entries of another phone, told in pages of 100. */
function farmOf(count: number): ModelServer {
  const server = new ModelServer();
  server.pageSize = 100;
  server.mostRecords = count;
  const records = Array.from({ length: count }, (_, i) => {
    const { row } = entryMaker({ device: OTHER_PHONE })({ device_seq: i + 1, clock: [0, 0] });
    return row.raw as string;
  });
  server.push({ app: "1", protocol: 1, device: OTHER_PHONE, records });
  return server;
}

/** Resolves when `is` holds after some change. */
function until(farm: FarmSession, is: () => boolean): Promise<void> {
  return new Promise((resolve) => {
    const stop = farm.subscribe(() => {
      if (!is()) return;
      stop();
      resolve();
    });
  });
}

/** Numbers after which pages were asked for. */
function askedAfter(browser: Browser): number[] {
  return browser.asked.flatMap(({ path }) => {
    const found = /after=(\d+):/.exec(path);
    return found ? [Number(found[1])] : [];
  });
}

test("a first fetch can be stopped, is gone on with after a restart from where it was, and sends meanwhile", async () => {
  const browser = new Browser(farmOf(1_200));
  const list = await window(browser);
  const farm = await list.enrol(answer);
  const stopped = until(farm, () => farm.sync.last_error === "paused");
  const stop = farm.subscribe(() => {
    if ((farm.sync.fetched?.held ?? 0) >= 300 && !farm.sync.paused) farm.sync.pause();
  });
  await stopped;
  stop();
  const held = farm.sync.fetched?.held ?? 0;
  expect(held).toBeGreaterThanOrEqual(300);
  expect(held).toBeLessThan(1_200);
  expect(farm.sync).toMatchObject({ phase: "waiting", paused: true, fetched: { head: 1_200 } });

  await farm.record({ kind: "emptied", body: { crate: CRATE } });
  await farm.sync.now();
  expect(browser.server.log).toHaveLength(1_201);
  expect(farm.unsettled()).toHaveLength(1);

  farm.close();
  const before = askedAfter(browser).length;
  const { current } = await window(browser);
  await current?.sync.now();
  expect(askedAfter(browser)[before]).toBeGreaterThanOrEqual(held);
  expect(new Set(askedAfter(browser)).size).toBeGreaterThan(11);
  expect(current?.sync).toMatchObject({ paused: false, fetched: { held: 1_201, head: 1_201 } });
  expect(current?.unsettled()).toEqual([]);
  expect(current?.entriesFor({ crate: CRATE })).toHaveLength(1_201);
});

test("gone on with by hand it comes to the end", async () => {
  const browser = new Browser(farmOf(500));
  const farm = await (await window(browser)).enrol(answer);
  const stopped = until(farm, () => farm.sync.last_error === "paused");
  farm.sync.pause();
  await stopped;
  farm.sync.resume();
  await farm.sync.now();
  expect(farm.sync).toMatchObject({ phase: "idle", paused: false, last_error: null, fetched: { held: 500, head: 500 } });
});

test("another build reads the entries anew with the app open, says how far it is, and keeps what is written meanwhile", async () => {
  const browser = new Browser(farmOf(2_500));
  const farm = await (await window(browser)).enrol(answer);
  await farm.sync.now();
  farm.close();

  browser.app = "2";
  browser.online = false;
  const { current } = await window(browser);
  if (!current) throw new Error("no farm is open");
  const told = [current.reading];
  const read = until(current, () => {
    told.push(current.reading);
    return current.reading === null;
  });
  expect(current.reading).toMatchObject({ total: 2_500 });
  const saved = current.record({ kind: "emptied", body: { crate: CRATE } });
  await read;
  await saved;
  expect(told.map((one) => one?.done ?? null)).toEqual(expect.arrayContaining([1_000, 2_000, null]));
  expect(current.entriesFor({ crate: CRATE })).toHaveLength(2_501);
  expect(current.unsettled()).toHaveLength(1);
  expect(current.state.crates[CRATE]?.emptied_on).not.toBe("");
});

test("pages tell the server what is only here, and by which build", async () => {
  const browser = new Browser(farmOf(10));
  const farm = await (await window(browser)).enrol(answer);
  await farm.sync.now();
  browser.online = false;
  await farm.record({ kind: "emptied", body: { crate: CRATE } }, { kind: "emptied", body: { crate: CRATE } });
  browser.goOnline();
  await farm.sync.now();
  const pulls = browser.asked.filter(({ path }) => path.startsWith("/sync/v1/pull"));
  expect(pulls.length).toBeGreaterThan(1);
  for (const { path } of pulls) {
    const { searchParams } = new URL(path, "https://farm.example");
    expect(searchParams.get("waiting")).toBe("0");
    expect(searchParams.get("app")).toBe("1");
  }
});
