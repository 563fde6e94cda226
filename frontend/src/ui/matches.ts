/** Text without accents, case, marks of direction and doubled spaces, for finding by what was typed. */
export function plain(text: string): string {
  return text.normalize("NFD").replace(/[\p{M}\u2066-\u2069]/gu, "").toLowerCase().replace(/\s+/g, " ").trim();
}

const BETWEEN = /[\s,.;:()/-]+/;

/** True when every word typed begins some word of the text. */
export function matches(text: string, typed: string): boolean {
  const words = plain(text).split(BETWEEN);
  return plain(typed)
    .split(BETWEEN)
    .every((part) => part === "" || words.some((word) => word.startsWith(part)));
}
