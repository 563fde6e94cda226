/** Once an entry is on the disk it is saved, whatever fails after that. */
import { expect, test } from "vitest";
import { ANA, CRATE, FARM, PHONE } from "../store/testing/entries.ts";
import { FDBDatabase, FDBObjectStore } from "../store/testing/fake.ts";
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

type Methods = Record<string, (...args: unknown[]) => unknown>;

test("a database that fails right after a save does not make the entry unsaved", async () => {
  const browser = new Browser(new ModelServer());
  browser.online = false;
  const stores = FDBObjectStore.prototype as unknown as Methods;
  const databases = FDBDatabase.prototype as unknown as Methods;
  const { add, transaction } = { add: stores["add"], transaction: databases["transaction"] };
  if (!add || !transaction) throw new Error("there is no database to break");
  // Dexie takes hold of `transaction` when it opens the database.
  let kept = false;
  let refused = 0;
  stores["add"] = function (this: unknown, ...args) {
    kept = true;
    return add.apply(this, args);
  };
  databases["transaction"] = function (this: unknown, ...args) {
    if (!kept) return transaction.apply(this, args);
    refused += 1;
    throw new DOMException("Connection to Indexed Database server lost", "UnknownError");
  };
  try {
    const list = await openSessions(browser.surroundings());
    const farm = await list.enrol(answer);
    const saved = await farm.record({ kind: "emptied", body: { crate: CRATE } });
    expect(saved).toHaveLength(1);
    expect(refused).toBeGreaterThan(0);
    farm.close();
  } finally {
    stores["add"] = add;
    databases["transaction"] = transaction;
  }
  const { current } = await openSessions(browser.surroundings());
  expect(current?.entriesFor({ crate: CRATE })).toHaveLength(1);
  current?.close();
});
