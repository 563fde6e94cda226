/** What the farm's computer did not take can be tried again at once by a person, and says why it was not taken. */
import { expect, test } from "vitest";
import { ANA, CRATE, FARM, PHONE } from "../store/testing/entries.ts";
import { openSessions, type EnrolAnswer } from "./session.ts";
import { Browser } from "./testing/browser.ts";
import { ModelServer } from "./testing/model-server.ts";

const answer: EnrolAnswer = {
  token: "secret",
  device: { id: PHONE, name: "Ana's phone" },
  member: { id: ANA, name: "Ana", role: "owner" },
  farm: { id: FARM, name: "Low Meadow", time_zone: "UTC", as_of: null },
  members: [{ id: ANA, name: "Ana", role: "owner" }],
};

test("a stuck entry says why, stays stuck while the server fails on it, and goes when it does not", async () => {
  const server = new ModelServer();
  server.poison = "geese";
  const list = await openSessions(new Browser(server).surroundings());
  const farm = await list.enrol(answer);
  const [bad] = await farm.record({ kind: "emptied", body: { crate: CRATE, note: "geese" } });
  await farm.record({ kind: "emptied", body: { crate: CRATE } });
  await farm.sync.now();
  expect(farm.stuck().map((entry) => entry.sha)).toEqual([bad?.sha]);
  expect(farm.stuck()[0]?.stuck).toMatchObject({ app: "1", code: expect.any(String) });

  await farm.tryStuckAgain();
  expect(farm.stuck()).toHaveLength(1);
  expect(farm.unsettled()).toHaveLength(1);

  server.poison = null;
  await farm.sync.now();
  expect(farm.stuck()).toHaveLength(1); // by itself only after a day or an update
  await farm.tryStuckAgain();
  expect(farm.unsettled()).toEqual([]);
  expect(farm.entry(bad?.sha ?? "")?.received_at).toEqual(expect.any(Number));
  farm.close();
});
