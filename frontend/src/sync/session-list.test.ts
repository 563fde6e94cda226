import { afterEach, expect, test } from "vitest";
import { ANA, CRATE, FARM, PHONE } from "../store/testing/entries.ts";
import { openSessions, SignOutRefused, type EnrolAnswer, type Member, type SessionList } from "./session.ts";
import { Browser } from "./testing/browser.ts";
import { ModelServer } from "./testing/model-server.ts";

const BEN = "33333333-3333-4333-8333-333333333334";
const ana: Member = { id: ANA, name: "Ana", role: "owner" };
const ben: Member = { id: BEN, name: "Ben", role: "helper" };
const answer: EnrolAnswer = {
  token: "secret",
  device: { id: PHONE, name: "Ana's phone" },
  member: ana,
  farm: { id: FARM, name: "Low Meadow", time_zone: "UTC", as_of: null },
  members: [ana, ben],
};
const emptied = { kind: "emptied", body: { crate: CRATE } } as const;

const lists: SessionList[] = [];
afterEach(() => {
  for (const list of lists.splice(0)) list.current?.close();
});

/** A phone whose farm also tells who is who; the answer may be changed, as an owner would. */
async function phone() {
  const browser = new Browser(new ModelServer());
  const told = { now: answer as Omit<EnrolAnswer, "token"> };
  const around = browser.surroundings();
  const list = await openSessions({
    ...around,
    door: (token) => {
      const inner = around.door(token);
      return {
        ask: (path, init) => (path === "/api/farm/" && browser.online ? Promise.resolve(Response.json(told.now)) : inner.ask(path, init)),
      };
    },
  });
  lists.push(list);
  const farm = await list.enrol(answer);
  await farm.sync.now();
  return { browser, told, list, farm };
}

/** One round of the sync, a second later. */
async function round({ browser, farm }: Pick<Awaited<ReturnType<typeof phone>>, "browser" | "farm">): Promise<void> {
  browser.server.now += 1000;
  await farm.sync.now();
}

/** Resolves when the list has told of a change that makes `is` true. */
function until(list: SessionList, is: () => boolean): Promise<void> {
  return new Promise((resolve) => {
    if (is()) resolve();
    const stop = list.subscribe(() => {
      if (!is()) return;
      stop();
      resolve();
    });
  });
}

test("names and roles are as the farm's computer tells them after each round, and stay so", async () => {
  const { browser, told, list, farm } = await phone();
  told.now = { ...answer, member: { ...ana, role: "helper" }, members: [{ ...ana, role: "helper" }, { ...ben, name: "Benno" }] };
  await round({ browser, farm });
  await until(list, () => farm.members.some((one) => one.name === "Benno"));
  expect(farm.member.role).toBe("helper");
  farm.close();
  const again = await openSessions(browser.surroundings());
  lists.push(again);
  expect(again.current?.members.find((one) => one.id === BEN)?.name).toBe("Benno");
});

test("an erased name is gone from the phone, and the person no longer writes on it", async () => {
  const { browser, told, list, farm } = await phone();
  farm.chooseAuthor(BEN);
  told.now = { ...answer, members: [ana, { ...ben, name: "", active: false, erased: true }] };
  await round({ browser, farm });
  await until(list, () => farm.author === ANA);
  expect(JSON.stringify(list.list)).not.toContain("Ben");
});

test("buyers and prices leave the phone when the role no longer allows them", async () => {
  const { browser, told, list, farm } = await phone();
  await farm.keep("buyers", [{ id: "b", name: "Marnie Oxley" }]);
  await farm.keep("round", { at: 3 });
  await round({ browser, farm });
  expect(await farm.kept("buyers")).toHaveLength(1);
  told.now = { ...answer, member: { ...ana, role: "helper" } };
  await round({ browser, farm });
  await until(list, () => farm.member.role === "helper");
  expect(await farm.kept("buyers")).toBeUndefined();
  expect(await farm.kept("round")).toEqual({ at: 3 });
});

test("a phone that was signed out forgets buyers and prices, and no entry", async () => {
  const { browser, farm } = await phone();
  await farm.keep("buyers", [{ id: "b", name: "Marnie Oxley" }]);
  browser.server.status = { status: 401, code: "not_signed_in", retryAfterMs: null };
  await farm.record(emptied);
  await farm.sync.now();
  expect(farm.sync.phase).toBe("signed-out");
  await expect.poll(() => farm.kept("buyers")).toBeUndefined();
  expect(farm.unsettled()).toHaveLength(1);
});

test("signing out is refused while an entry is only here; erasing names how many are lost", async () => {
  const { browser, list, farm } = await phone();
  browser.online = false;
  await farm.record(emptied);
  await farm.record(emptied);
  await expect(list.signOut(FARM)).rejects.toThrow(SignOutRefused);
  await expect(list.erase(FARM, 1)).rejects.toMatchObject({ unsent: 2 });
  expect(await list.unsent(FARM)).toBe(2);
  expect(list.current).not.toBeNull();
  await list.erase(FARM, 2);
  expect(list.current).toBeNull();
  expect(list.list).toEqual([]);
});

test("a phone paired anew for somebody else is that person's, and keeps what it held", async () => {
  const { browser, list, farm } = await phone();
  browser.online = false;
  await farm.record(emptied);
  const next = await list.enrol({ ...answer, token: "other", member: ben });
  expect(next.author).toBe(BEN);
  expect(next.unsettled()).toHaveLength(1);
});

test("an owner on a helper's phone is told that the phone decides, not the person", async () => {
  const { list } = await phone();
  const farm = await list.enrol({ ...answer, member: ben });
  farm.chooseAuthor(ANA);
  const price = { kind: "field_set", body: { table: "settings", row: FARM, field: "hemisphere", value: "north" } } as const;
  await expect(farm.record(price)).rejects.toMatchObject({ sentence: "Ana may not write this down here: the phone was paired for Ben, and it takes a grower's." });
  farm.chooseAuthor(BEN);
  await expect(farm.record(price)).rejects.toMatchObject({ sentence: "Ben may not write this down; it takes a grower. Choose who is writing." });
});
