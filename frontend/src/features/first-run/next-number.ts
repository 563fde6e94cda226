/** The number after this one, in the way it is written: 9 → 10, "A09" → "A10"; "" when it has no number. */
export function numberAfter(written: string): string {
  const found = /^(.*?)(\d+)$/.exec(written.trim());
  if (!found) return "";
  const [, before = "", digits = ""] = found;
  return before + String(BigInt(digits) + 1n).padStart(digits.length, "0");
}

/** One above the highest plain number in use; "1" when there is none. */
export function firstFree(numbers: readonly string[]): string {
  const used = numbers.filter((one) => /^\d{1,9}$/.test(one)).map(Number);
  return String(used.length > 0 ? Math.max(...used) + 1 : 1);
}
