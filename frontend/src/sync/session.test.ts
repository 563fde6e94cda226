import { afterEach, expect, test } from "vitest";
import { CRATE, FARM, PHONE, ANA } from "../store/testing/entries.ts";
import { FDBObjectStore } from "../store/testing/fake.ts";
import { openSessions, SaveFailed, SignOutRefused, type Asked, type EnrolAnswer, type FarmSession, type SessionList } from "./session.ts";
import { Browser } from "./testing/browser.ts";
import { ModelServer } from "./testing/model-server.ts";

const BEN = "33333333-3333-4333-8333-333333333334";
const VIEWER = "33333333-3333-4333-8333-333333333335";

const answer: EnrolAnswer = {
  token: "secret",
  device: { id: PHONE, name: "Ana's phone" },
  member: { id: ANA, name: "Ana", role: "owner" },
  farm: { id: FARM, name: "Low Meadow", time_zone: "Pacific/Auckland", as_of: null },
  members: [
    { id: ANA, name: "Ana", role: "owner" },
    { id: BEN, name: "Ben", role: "helper" },
    { id: VIEWER, name: "Vera", role: "viewer" },
  ],
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

async function enrolled(): Promise<{ browser: Browser; list: SessionList; farm: FarmSession }> {
  const browser = new Browser(new ModelServer());
  const list = await window(browser);
  return { browser, list, farm: await list.enrol(answer) };
}

const emptied = { kind: "emptied", body: { crate: CRATE } } as const;

test("a device without a farm has none open", async () => {
  const list = await window(new Browser(new ModelServer()));
  expect(list.list).toEqual([]);
  expect(list.current).toBeNull();
});

test("a farm, its token and the people stay after the app is opened again", async () => {
  const { browser, farm } = await enrolled();
  farm.chooseAuthor(BEN);
  await farm.keep("round", { at: 3 });
  await farm.record(emptied);
  farm.close();
  const { current } = await window(browser);
  expect(current?.farm).toEqual(answer.farm);
  expect(current?.members).toHaveLength(3);
  expect(current?.author).toBe(BEN);
  expect(await current?.kept("round")).toEqual({ at: 3 });
  expect(current?.entriesFor({ crate: CRATE })).toHaveLength(1);
});

test("an entry is here at once, and safe once it has come back in the feed", async () => {
  const { browser, farm } = await enrolled();
  browser.online = false;
  const [saved] = await farm.record(emptied);
  const sha = saved?.sha ?? "";
  expect(farm.entry(sha)).toMatchObject({ status: "here", seq: null, kind: "emptied", author: ANA });
  expect(farm.unsettled()).toHaveLength(1);
  browser.goOnline();
  await farm.sync.now();
  expect(farm.entry(sha)).toMatchObject({ status: "safe", seq: 1 });
  expect(farm.unsettled()).toEqual([]);
  expect(farm.sync).toMatchObject({ phase: "idle", last_error: null, last_ok_at: browser.server.now });
  expect(browser.asked.every((one) => one.token === "secret")).toBe(true);
});

test("without a network the sync waits and says so, and nothing is lost", async () => {
  const { browser, farm } = await enrolled();
  browser.online = false;
  await farm.record(emptied);
  await farm.sync.now();
  expect(farm.sync).toMatchObject({ phase: "waiting", last_error: "no_connection" });
  expect(farm.unsettled()).toHaveLength(1);
});

test("a device the server does not know is signed out and keeps everything", async () => {
  const { browser, farm } = await enrolled();
  await farm.sync.now();
  browser.server.status = { status: 401, code: "revoked", retryAfterMs: null };
  await farm.record(emptied);
  await farm.sync.now();
  expect(farm.sync).toMatchObject({ phase: "signed-out", last_error: "revoked" });
  expect(farm.unsettled()).toHaveLength(1);
});

test("a day in the farm's zone is the default, the stored day in a demo farm", async () => {
  const { browser, list, farm } = await enrolled();
  browser.server.now = Date.UTC(2026, 10, 3, 20, 0);
  expect(farm.today()).toBe("2026-11-04");
  const [saved] = await farm.record(emptied);
  expect(farm.entry(saved?.sha ?? "")?.occurred_on).toBe("2026-11-04");
  expect(farm.entriesOn("2026-11-04")).toHaveLength(1);
  const demo = await list.enrol({ ...answer, farm: { ...answer.farm, as_of: "2027-01-20" } });
  expect(demo.today()).toBe("2027-01-20");
  const [first, second] = await demo.record(emptied, emptied);
  const days = [first, second].map((one) => new Date(demo.entry(one?.sha ?? "")?.recorded_at ?? 0).toISOString());
  for (const day of days) expect(day).toMatch(/^2027-01-(19|20)T/); // Auckland is ahead of UTC
});

test("a form that cannot be kept says which field and why, and keeps nothing", async () => {
  const { farm } = await enrolled();
  const bad = farm.record(emptied, { kind: "counted", body: { lot: CRATE, count: -2 } });
  const error = await bad.catch((thrown: unknown) => thrown);
  expect(error).toBeInstanceOf(SaveFailed);
  expect((error as SaveFailed).fields).toHaveProperty("count");
  expect(farm.unsettled()).toEqual([]);
  await expect(farm.record({ ...emptied, occurred_on: "2026-02-30" })).rejects.toThrow(/calendar/);
  await expect(farm.record({ ...emptied, body: { crate: CRATE, note: "é".repeat(20_000), more: "é".repeat(20_000) } }))
    .rejects.toMatchObject({ code: "too_large" });
  expect(farm.unsettled()).toEqual([]);
});

test("who may not write is told before the word saved", async () => {
  const { farm } = await enrolled();
  farm.chooseAuthor(VIEWER);
  await expect(farm.record(emptied)).rejects.toThrow("Vera may not write this down; it takes a helper. Choose who is writing.");
  farm.chooseAuthor(BEN);
  const rename = { kind: "field_set", body: { table: "crates", row: CRATE, field: "name", value: "N" } } as const;
  await expect(farm.record(rename)).rejects.toThrow("it takes a grower");
  await farm.record(emptied);
  expect(farm.unsettled()[0]).toMatchObject({ author: BEN, role: "helper" });
});

test("a full phone says how much is safe", async () => {
  const { farm } = await enrolled();
  await farm.record(emptied);
  const methods = FDBObjectStore.prototype as unknown as Record<string, unknown>;
  const original = methods["add"];
  methods["add"] = () => {
    throw new DOMException("full", "QuotaExceededError");
  };
  try {
    await expect(farm.record(emptied)).rejects.toThrow(
      "This phone is full. 1 entry is safe. Free some space; new entries cannot be kept until then.",
    );
  } finally {
    methods["add"] = original;
  }
});

test("signing out is refused while an entry is only here, then takes the farm off the device", async () => {
  const { browser, list, farm } = await enrolled();
  browser.online = false;
  await farm.record(emptied);
  await expect(list.signOut(FARM)).rejects.toThrow("1 entry is only on this phone. Send it or copy it out first.");
  await expect(list.signOut(FARM)).rejects.toBeInstanceOf(SignOutRefused);
  browser.goOnline();
  await farm.sync.now();
  await list.signOut(FARM);
  expect(list.list).toEqual([]);
  expect((await browser.disk.indexedDB.databases()).map((one) => one.name)).toEqual(["winter-tally"]);
});

test("two windows: what one saves, the other shows; both count on", async () => {
  const { browser, farm: one } = await enrolled();
  const two = (await window(browser)).current;
  if (!two) throw new Error("the second window has no farm");
  browser.online = false;
  const seen = new Promise<void>((resolve) => {
    two.subscribe(() => {
      if (two.unsettled().length === 1) resolve();
    });
  });
  await one.record(emptied);
  await seen;
  await two.record(emptied);
  await one.record(emptied);
  browser.goOnline();
  await two.sync.now();
  await one.sync.now();
  const numbers = browser.server.log.map((entry) => (JSON.parse(entry.raw) as { device_seq: number }).device_seq);
  expect(numbers).toEqual([1, 2, 3]);
  expect(one.unsettled()).toEqual([]);
  expect(two.unsettled()).toEqual([]);
});

test("the window that syncs is killed between push and pull: the other one finishes", async () => {
  const { browser, farm: one } = await enrolled();
  await one.sync.now();
  const two = (await window(browser)).current;
  if (!two) throw new Error("the second window has no farm");
  await two.sync.now();
  const original = browser.server.pull.bind(browser.server);
  browser.server.pull = () => {
    one.close();
    throw new Error("the window is gone");
  };
  await one.record(emptied);
  const deadline = new Promise<void>((resolve) => {
    const watch = (): void => {
      if (browser.server.log.length === 1) resolve();
      else setImmediate(watch);
    };
    watch();
  });
  await deadline;
  browser.server.pull = original;
  await two.sync.now();
  expect(two.unsettled()).toEqual([]);
  expect(browser.server.log).toHaveLength(1);
});

test("unsent entries can be copied out, byte for byte", async () => {
  const { browser, farm } = await enrolled();
  await farm.record(emptied);
  await farm.sync.now();
  browser.online = false;
  await farm.record({ kind: "emptied", body: { crate: CRATE, note: "Zoë's crate\n" } });
  const unsent = (await (await farm.exportUnsent()).text()).trimEnd().split("\n");
  expect(unsent).toHaveLength(1);
  const { raw } = JSON.parse(unsent[0] ?? "") as { raw: string };
  browser.online = true;
  await farm.sync.now();
  expect(browser.server.log[1]?.raw).toBe(raw);
  expect((await (await farm.exportAll()).text()).trimEnd().split("\n")).toHaveLength(2);
});

test("after a restore of the server all this device holds is offered again", async () => {
  const { browser, farm } = await enrolled();
  await farm.record(emptied);
  await farm.sync.now();
  browser.server.restore([]);
  await farm.record(emptied);
  await farm.sync.now();
  expect(browser.server.log).toHaveLength(2);
  expect(farm.unsettled()).toEqual([]);
  expect(farm.entriesFor({ crate: CRATE })).toHaveLength(2);
});

test("a page of the farm computer that refuses is told in its words", async () => {
  const { farm, browser } = await enrolled();
  await expect(farm.api("/api/nothing/" as Asked)).rejects.toMatchObject({ code: "not_found", message: "There is no such page.", status: 404 });
  browser.online = false;
  await expect(farm.api("/api/farm/")).rejects.toMatchObject({ code: "no_connection", status: 0 });
});

test("an address that the farm computer does not describe does not compile", () => {
  const known: Asked[] = ["/api/farm/", "/api/devices/0a/revoke/", "/api/reports/losses.csv?winter=2026"];
  // @ts-expect-error there is no such page
  const unknown: Asked = "/api/nothing/";
  expect(known).not.toContain(unknown);
});
