/** What is known of a phone, in words. Pure: moments come in as ms and go out through `show`. */
import type { Phone } from "../../app/devices.svelte.ts";

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;
const many = (n: number, one: string, more = `${one}s`): string => `${n} ${n === 1 ? one : more}`;

/** "just now", "5 minutes ago", "3 hours ago", "3 days ago"; a clock that is behind says "just now". */
export function ago(ms: number, now: number): string {
  const past = now - ms;
  if (past < 2 * MINUTE) return "just now";
  if (past < HOUR) return `${many(Math.floor(past / MINUTE), "minute")} ago`;
  if (past < 2 * DAY) return `${many(Math.floor(past / HOUR), "hour")} ago`;
  return `${many(Math.floor(past / DAY), "day")} ago`;
}

export function heard(phone: Pick<Phone, "last_heard_at">, now: number): string {
  return phone.last_heard_at ? `heard ${ago(Date.parse(phone.last_heard_at), now)}` : "not heard yet";
}

/** "12 entries were still only on it on 3 Nov, 14:02." */
export function onlyOnIt(phone: Pick<Phone, "waiting" | "waiting_at">, show: (ms: number) => string): string {
  if (phone.waiting === null || !phone.waiting_at) return "It has not said whether entries wait on it.";
  const at = show(Date.parse(phone.waiting_at));
  if (phone.waiting === 0) return `Nothing was only on it when it was heard: ${at}.`;
  return `${phone.waiting === 1 ? "1 entry was" : `${phone.waiting} entries were`} still only on it when it was heard: ${at}.`;
}

/** Numbers of a phone's own that never came: "41–43, 50". */
export function numbers(ranges: readonly (readonly [number, number])[]): string {
  return ranges.map(([from, to]) => (from === to ? `${from}` : `${from}–${to}`)).join(", ");
}

export function howMany(ranges: readonly (readonly [number, number])[]): number {
  return ranges.reduce((sum, [from, to]) => sum + to - from + 1, 0);
}

/** "" when everything below its highest number came. */
export function notDelivered(phone: Pick<Phone, "missing">): string {
  const count = howMany(phone.missing);
  if (count === 0) return "";
  return `${many(count, "entry", "entries")} written on it never came: its ${count === 1 ? "number" : "numbers"} ${numbers(phone.missing)}.`;
}

export type Standing = "in use" | "signed out" | "set aside";

export function standing(phone: Pick<Phone, "revoked_at" | "quarantined">): Standing {
  if (phone.revoked_at) return "signed out";
  return phone.quarantined ? "set aside" : "in use";
}

export const sortWord = (sort: string): string =>
  ({ phone: "phone", browser: "browser", script: "script", server: "the farm’s computer" })[sort] ?? sort;

/** m:ss that a code still has; "" when its time is over. */
export function timeLeft(expiresMs: number, now: number): string {
  const left = Math.ceil((expiresMs - now) / 1000);
  if (left <= 0) return "";
  return `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}`;
}
