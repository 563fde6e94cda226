import { expect, test } from "vitest";
import { mayTakeOver } from "./updates.svelte.ts";

const idle = { idleMs: 600_000, hidden: true, path: "/todo", drawer: false, round: false };

test("a newer build takes over by itself only when nobody is interrupted", () => {
  expect(mayTakeOver(idle)).toBe(true);
  for (const busy of [{ idleMs: 599_999 }, { hidden: false }, { path: "/divide" }, { drawer: true }, { round: true }])
    expect(mayTakeOver({ ...idle, ...busy })).toBe(false);
});
