import { here } from "../session.svelte.ts";
import { prefs } from "../prefs.svelte.ts";
import { enGb } from "./en-gb.ts";
import { enUs, type Words } from "./en-us.ts";

const FILES: Record<string, Words> = { "en-US": enUs, "en-GB": enGb };

function setting(field: string): unknown {
  return here.ready ? here.state.rows["settings"]?.[here.farm.id]?.[field]?.value : undefined;
}

/** This phone's choice, else the farm's, else the browser's. */
export function locale(): "en-US" | "en-GB" {
  if (prefs.locale) return prefs.locale;
  const farm = setting("locale_words");
  if (farm === "us") return "en-US";
  if (farm === "uk") return "en-GB";
  return typeof navigator !== "undefined" && navigator.language === "en-US" ? "en-US" : "en-GB";
}

/** "c" or "f": this phone's choice, else the farm's, else Celsius. */
export function tempUnit(): "c" | "f" {
  if (prefs.tempUnit) return prefs.tempUnit;
  return setting("temp_unit") === "f" ? "f" : "c";
}

/** The words in use. Read them in templates and $derived, so that a change of locale shows. */
export const w: Words = new Proxy(enUs, {
  get: (_, key: keyof Words) => (FILES[locale()] ?? enUs)[key],
});

/** "1 tuber", "34 tubers". */
export function countOf(count: number, unit: string): string {
  const [one, many] = w.units[unit] ?? [unit, unit];
  return `${count.toLocaleString(locale())} ${count === 1 ? one : many}`;
}

/** The words as they begin a line. */
export const capital = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);
