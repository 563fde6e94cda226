import { expect, test } from "vitest";
import { fetching } from "./fetching.ts";

const pulling = { phase: "pulling", fetched: { held: 500, head: 40_000 }, paused: false, last_error: null };

test("says how much of the farm is here, counted from the first entry on", () => {
  expect(fetching(pulling, null)).toMatchObject({ done: 500, total: 40_000, mayPause: true, paused: false });
});

test("a few missing entries, none, or a farm that has not answered need no words", () => {
  expect(fetching({ ...pulling, fetched: { held: 39_900, head: 40_000 } }, null)).toBeNull();
  expect(fetching({ ...pulling, fetched: { held: 40_000, head: 40_000 } }, null)).toBeNull();
  expect(fetching({ ...pulling, fetched: null }, null)).toBeNull();
});

test("stopped by hand it says so until all is here, however little is missing", () => {
  const stopped = { ...pulling, fetched: { held: 39_900, head: 40_000 }, paused: true };
  expect(fetching(stopped, null)?.note).toContain("Stopped");
  expect(fetching({ ...stopped, fetched: { held: 40_000, head: 40_000 } }, null)).toBeNull();
});

test("without a connection it says that it goes on by itself", () => {
  expect(fetching({ ...pulling, phase: "waiting", last_error: "no_connection" }, null)?.note).toContain("No connection");
});

test("what is read from the phone itself comes first, and cannot be stopped", () => {
  expect(fetching(pulling, { done: 1000, total: 9000 })).toMatchObject({ done: 1000, total: 9000, mayPause: false });
});
