/** Dates, numbers and temperatures as this phone shows them. */
import { daysBetween, parseDecimal } from "../ui/index.ts";
import { here } from "./session.svelte.ts";
import { locale, tempUnit } from "./words/index.svelte.ts";

const formats: Record<string, Intl.DateTimeFormat> = {};
function dates(options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const key = locale() + JSON.stringify(options);
  return (formats[key] ??= new Intl.DateTimeFormat(locale(), options));
}
const midday = (date: string) => new Date(`${date}T12:00:00Z`);

/** A civil date: "3 Nov" this winter, "3 Nov 2025" when a year away. "" stays "". */
export function day(date: string): string {
  if (!date) return "";
  const near = here.ready && Math.abs(daysBetween(date, here.today)) < 300;
  return dates({ day: "numeric", month: "short", timeZone: "UTC", ...(near ? {} : { year: "numeric" }) }).format(midday(date));
}

/** "Tuesday 3 November 2026" */
export function dayInFull(date: string): string {
  return dates({ weekday: "long", day: "numeric", month: "long", year: "numeric", timeZone: "UTC" }).format(midday(date));
}

/** "today", "yesterday", "12 days ago", "in 3 days". */
export function daysAgo(date: string): string {
  const days = daysBetween(date, here.today);
  if (days === 0) return "today";
  if (days === 1) return "yesterday";
  if (days === -1) return "tomorrow";
  return days > 0 ? `${days} days ago` : `in ${-days} days`;
}

function zone(): string | undefined {
  return here.ready ? here.farm.time_zone : undefined;
}

/** ms UTC → "09:14" in the farm's zone. */
export function clock(ms: number): string {
  return dates({ hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: zone() }).format(ms);
}

/** ms UTC → "09:14" today, else "3 Nov, 09:14". */
export function moment(ms: number, now: number): string {
  const options: Intl.DateTimeFormatOptions = { day: "numeric", month: "short", timeZone: zone() };
  const that = dates(options).format(ms);
  return that === dates(options).format(now) ? `today ${clock(ms)}` : `${that}, ${clock(ms)}`;
}

export function number(value: number, digits = 0): string {
  return value.toLocaleString(locale(), { minimumFractionDigits: 0, maximumFractionDigits: digits });
}

/** "," or "." */
export function decimalMark(): string {
  return (1.5).toLocaleString(locale()).charAt(1);
}

export function unitSign(): string {
  return tempUnit() === "f" ? "°F" : "°C";
}

/** Thousandths of a degree Celsius → "6.5°", "43.7°F". */
export function temperature(milliC: number | null): string {
  if (milliC === null) return "–";
  const c = milliC / 1000;
  return tempUnit() === "f" ? `${number((c * 9) / 5 + 32, 1)}°F` : `${number(c, 1)}°`;
}

/** What was typed, in this phone's unit → degrees Celsius to three decimals; null when it is no number. */
export function readTemperature(text: string): number | null {
  const value = parseDecimal(text);
  if (value === null) return null;
  const c = tempUnit() === "f" ? ((value - 32) * 5) / 9 : value;
  return Math.round(c * 1000) / 1000;
}

/** Thousandths of a percent → "84 %". */
export function humidity(milliPct: number | null): string {
  return milliPct === null ? "–" : `${number(milliPct / 1000)} %`;
}
