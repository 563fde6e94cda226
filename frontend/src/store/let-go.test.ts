import { afterEach, beforeEach, expect, test } from "vitest";
import { FarmStore } from "./farm-store.ts";
import { entryMaker, FARM, PHONE } from "./testing/entries.ts";
import { freshDisk } from "./testing/fake.ts";
import { Killer } from "./testing/killer.ts";

const killer = new Killer();
beforeEach(() => killer.install());
afterEach(() => killer.remove());

test("wherever the program ends, a form is kept or what it became is, never both and never neither", async () => {
  const seen = { form: 0, entry: 0 };
  for (let step = 1, ended = false; !ended; step += 1) {
    const disk = freshDisk();
    const store = new FarmStore(FARM, disk);
    await store.keep("form", "12 tubers");
    killer.arm(step);
    const saving = store.save(PHONE, [entryMaker({})], ["form"]).then(() => (ended = !killer.dead), () => undefined);
    await Promise.race([saving, killer.death]);
    killer.disarm();
    store.close();

    const again = new FarmStore(FARM, disk);
    const form = (await again.kept("form")) !== undefined;
    const entry = (await again.all()).length === 1;
    again.close();
    expect(entry, `step ${step}`).toBe(!form);
    seen[entry ? "entry" : "form"] += 1;
  }
  expect(seen.form).toBeGreaterThan(3);
  expect(seen.entry).toBeGreaterThan(0);
});
