/** Civil dates of a farm. */

const formats = new Map<string, Intl.DateTimeFormat>();

function formatOf(timeZone: string): Intl.DateTimeFormat {
  const known = formats.get(timeZone);
  if (known) return known;
  const options = { year: "numeric", month: "2-digit", day: "2-digit", calendar: "gregory", numberingSystem: "latn" } as const;
  let made: Intl.DateTimeFormat;
  try {
    made = new Intl.DateTimeFormat("en", { ...options, timeZone });
  } catch {
    // A zone this phone's tables do not know: the server's dates count in the end.
    made = new Intl.DateTimeFormat("en", { ...options, timeZone: "UTC" });
  }
  formats.set(timeZone, made);
  return made;
}

/** The date in `timeZone` at a moment (ms UTC), as YYYY-MM-DD. */
export function civilDate(ms: number, timeZone: string): string {
  const parts = formatOf(timeZone).formatToParts(new Date(ms));
  const part = (type: string): string => parts.find((one) => one.type === type)?.value ?? "";
  return `${part("year").padStart(4, "0")}-${part("month")}-${part("day")}`;
}

/** Whether a text is a day of the calendar, written YYYY-MM-DD. */
export function isDay(text: string): boolean {
  if (!/^\d{4}-\d{2}-\d{2}$/.test(text)) return false;
  const date = new Date(`${text}T00:00:00Z`);
  return !Number.isNaN(date.getTime()) && date.toISOString().slice(0, 10) === text && !text.startsWith("0000");
}
