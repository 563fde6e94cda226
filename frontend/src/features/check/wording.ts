/** What the big button says before, and the message line after. */
import { good, expected, isChanged, sum, thrownOut, type CheckForm } from "./form.ts";

const listed = (form: CheckForm, causes: Record<string, string>): string =>
  Object.entries(thrownOut(form))
    .map(([cause, n]) => `${n} ${(causes[cause] ?? cause).toLowerCase()}`)
    .join(", ");

const seenOf = (form: CheckForm): string =>
  `${form.lines.reduce((total, line) => total + line.seen, 0)} of ${expected(form)} seen`;

const wasCounted = (form: CheckForm): boolean =>
  form.lines.length > 0 && form.lines.every((line) => line.counted !== null);

/** Says what pressing it vouches for, and no more. */
export function buttonWords(form: CheckForm, causes: Record<string, string>): string {
  const out = listed(form, causes);
  const left = Math.max(0, good(form));
  if (form.lines.length === 0) return out ? `Save: ${out}` : "Save: nothing bad seen";
  if (wasCounted(form)) return `Save: ${[`${left} counted`, out].filter(Boolean).join(", ")}`;
  if (out) {
    if (form.look === "all") return `Save: ${left} good, ${out}`;
    return `Save: ${out}, ${left} left`;
  }
  if (form.look === "all") return `Went through all: ${left} good`;
  if (form.look === "some") return `${seenOf(form)}, all good`;
  return isChanged(form) ? "Save: nothing thrown out" : "Looked on top: nothing bad";
}

/** "Crate 12: 32 left, 2 rot". */
export function saidWords(form: CheckForm, crate: string, causes: Record<string, string>): string {
  const out = listed(form, causes);
  const left = Math.max(0, good(form));
  if (form.lines.length === 0) return `${crate}${out ? `: ${out}` : ""}`;
  if (wasCounted(form)) return `${crate}: ${[`${left} counted`, out].filter(Boolean).join(", ")}`;
  if (out) return `${crate}: ${left} left, ${out}`;
  if (form.look === "all") return `${crate}: ${left} good`;
  return form.look === "some" ? `${crate}: ${seenOf(form)}, all good` : `${crate}: looked on top, nothing bad`;
}

/** "Crate 12 is back to 34." */
export function undoneWords(form: CheckForm, crate: string): string {
  return form.lines.length > 0 ? `${crate} is back to ${expected(form)}.` : `${crate} is as before.`;
}

export const hasLosses = (form: CheckForm): boolean => sum(thrownOut(form)) > 0;
