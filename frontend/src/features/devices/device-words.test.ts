import { expect, test } from "vitest";
import { ago, heard, notDelivered, onlyOnIt, standing, timeLeft } from "./device-words.ts";

const NOW = Date.parse("2026-11-06T12:00:00Z");
const show = (ms: number) => new Date(ms).toISOString().slice(0, 16);

test.each([
  ["2026-11-06T11:59:00Z", "just now"],
  ["2026-11-06T12:10:00Z", "just now"], // its clock, or ours, is wrong
  ["2026-11-06T11:55:00Z", "5 minutes ago"],
  ["2026-11-06T10:59:00Z", "1 hour ago"],
  ["2026-11-05T12:00:00Z", "24 hours ago"],
  ["2026-11-03T14:02:00Z", "2 days ago"],
  ["2026-10-06T12:00:00Z", "31 days ago"],
])("%s was %s", (iso, words) => expect(ago(Date.parse(iso), NOW)).toBe(words));

test("a phone that was paired and never came is told so", () => {
  expect(heard({ last_heard_at: null }, NOW)).toBe("not heard yet");
});

test("says what is only on it, and never that nothing is when it did not say", () => {
  expect(onlyOnIt({ waiting: 12, waiting_at: "2026-11-03T14:02:00Z" }, show)).toBe("12 entries were still only on it when it was heard: 2026-11-03T14:02.");
  expect(onlyOnIt({ waiting: 1, waiting_at: "2026-11-03T14:02:00Z" }, show)).toMatch(/^1 entry was/);
  expect(onlyOnIt({ waiting: null, waiting_at: null }, show)).toBe("It has not said whether entries wait on it.");
  expect(onlyOnIt({ waiting: 0, waiting_at: "2026-11-03T14:02:00Z" }, show)).toMatch(/^Nothing was only on it/);
});

test("counts the holes in its own numbers", () => {
  expect(notDelivered({ missing: [] })).toBe("");
  expect(notDelivered({ missing: [[41, 43], [50, 50]] })).toBe("4 entries written on it never came: its numbers 41–43, 50.");
  expect(notDelivered({ missing: [[7, 7]] })).toBe("1 entry written on it never came: its number 7.");
});

test("a revoked phone is signed out, whether or not it was set aside before", () => {
  expect(standing({ revoked_at: "x", quarantined: true })).toBe("signed out");
  expect(standing({ revoked_at: null, quarantined: true })).toBe("set aside");
  expect(standing({ revoked_at: null, quarantined: false })).toBe("in use");
});

test("time left counts down and ends", () => {
  expect(timeLeft(NOW + 600_000, NOW)).toBe("10:00");
  expect(timeLeft(NOW + 61_200, NOW)).toBe("1:02");
  expect(timeLeft(NOW + 400, NOW)).toBe("0:01");
  expect(timeLeft(NOW, NOW)).toBe("");
});
