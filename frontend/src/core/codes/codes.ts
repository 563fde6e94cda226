/**
 * The code on a label: seven characters without look-alikes and a check character.
 *
 * Twin of tubertrack/core/codes; tests/reference/codes.json holds both to the same answers.
 * Source of the check character: ISO/IEC 7064:2003, hybrid system MOD 37,36.
 */

export const ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"; // no I, L, O, U
export const CODE_LENGTH = 8;
export const BYTES_PER_CODE = 5;
/** A longer text, such as the pages of text a QR code may hold, is no label of ours. */
export const LONGEST_READ = 2048;

const SYMBOLS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
const MODULUS = SYMBOLS.length; // 36
// Spaces, hyphens and dashes that people, keyboards and copied text put into a code. Written out,
// because "white space" is not the same set in Python and JavaScript.
const SEPARATORS =
  "\t\n\v\f\r -\u00a0\u00ad\u2007\u2009\u200b\u2010\u2011\u2012\u2013\u2014\u2015\u202f\u2212\u3000\ufeff";
const READ_AS: Readonly<Record<string, string>> = { I: "1", L: "1", O: "0" };

/** The character that makes `text` valid when appended; throws RangeError outside 0-9 A-Z. */
export function checkCharacter(text: string): string {
  return SYMBOLS.charAt((((1 - carried(text)) % MODULUS) + MODULUS) % MODULUS);
}

/** Whether the last character of `text` is the check character of those before it. */
export function hasValidCheck(text: string): boolean {
  if (text === "" || [...text].some((symbol) => !SYMBOLS.includes(symbol))) return false;
  return (carried(text.slice(0, -1)) + SYMBOLS.indexOf(text.slice(-1))) % MODULUS === 1;
}

/**
 * A code made of five random bytes, or null when its check character would be I, L, O or U
 * (about one call in nine: ask again with new bytes). The first five bits are not used.
 */
export function codeFromBytes(randomBytes: Uint8Array): string | null {
  if (randomBytes.length !== BYTES_PER_CODE) {
    throw new RangeError(`a code is made of ${BYTES_PER_CODE} bytes, not ${randomBytes.length}`);
  }
  let number = randomBytes.reduce((sum, byte) => sum * 256 + byte, 0); // below 2 ** 40: exact
  let beginning = "";
  for (let place = 1; place < CODE_LENGTH; place += 1) {
    beginning = ALPHABET.charAt(number % 32) + beginning;
    number = Math.floor(number / 32);
  }
  const check = checkCharacter(beginning);
  return ALPHABET.includes(check) ? beginning + check : null;
}

/**
 * The eight capitals that `text` stands for, or null when it does not have the form of a code.
 * Of an address only the last part is read, whatever the host. Small letters, spaces and dashes are
 * as good as none; i and l are read as 1, o as 0. The check character is not looked at.
 */
export function normaliseCode(text: string): string | null {
  const read = characters(text);
  return read.length === CODE_LENGTH && inAlphabet(read) ? read.join("") : null;
}

/** Whether `code` may be on a label: eight capitals whose check character is right. */
export function isValidCode(code: string): boolean {
  return code.length === CODE_LENGTH && inAlphabet([...code]) && hasValidCheck(code);
}

/** The code in the two groups of four that labels and screens show: 4K7Q-M2X1. */
export function showCode(code: string): string {
  return `${code.slice(0, 4)}-${code.slice(4)}`;
}

/**
 * Those of `known` that one slip of the hand turns into what was typed, in order. One slip is a
 * wrong character, a missing one, one too many, or two neighbours swapped.
 */
export function knownCodesOneAway(typed: string, known: Iterable<string>): string[] {
  const read = characters(typed);
  if (Math.abs(read.length - CODE_LENGTH) > 1) return [];
  const near = new Set<string>();
  for (const code of known) if (isOneSlip([...code], read)) near.add(code);
  return [...near].sort(); // codes are ASCII: the order is Python's
}

/** What the recursion hands to the next character, 1 to 36: 36 before the first. */
function carried(text: string): number {
  let carry = MODULUS;
  for (const symbol of text) {
    const value = SYMBOLS.indexOf(symbol);
    if (value < 0) throw new RangeError(`"${symbol}" is not one of 0-9 A-Z`);
    // A sum of 0 counts as 36, so doubling modulo 37 (a prime) never gives 0.
    carry = (2 * ((carry + value) % MODULUS || MODULUS)) % (MODULUS + 1);
  }
  return carry;
}

/** What was read, by whole characters: a picture character counts as one, as in Python. */
function characters(text: string): string[] {
  if (text.length > LONGEST_READ && [...text].length > LONGEST_READ) return [];
  const scheme = text.indexOf("://");
  let path = text;
  if (scheme >= 0) {
    const address = text.slice(scheme + 3);
    path = address.includes("/") ? address.slice(address.indexOf("/") + 1) : "";
  }
  const trimmed = stripEnds(path.split("?", 1)[0]!.split("#", 1)[0]!, SEPARATORS);
  const parts = trimmed.replace(/\/+$/, "").split("/");
  return [...parts[parts.length - 1]!]
    .filter((one) => !SEPARATORS.includes(one))
    .map(readAs);
}

function readAs(one: string): string {
  // Only ASCII: other letters have capitals that look like ours (the dotless i, the long s).
  const capital = one >= "a" && one <= "z" && one.length === 1 ? one.toUpperCase() : one;
  return READ_AS[capital] ?? capital;
}

function stripEnds(text: string, unwanted: string): string {
  let start = 0;
  let end = text.length;
  while (start < end && unwanted.includes(text.charAt(start))) start += 1;
  while (end > start && unwanted.includes(text.charAt(end - 1))) end -= 1;
  return text.slice(start, end);
}

function inAlphabet(read: readonly string[]): boolean {
  return read.every((one) => ALPHABET.includes(one));
}

function isOneSlip(code: readonly string[], read: readonly string[]): boolean {
  if (code.length > read.length) return isWithoutOne(code, read);
  if (code.length < read.length) return isWithoutOne(read, code);
  const wrong = code.map((_, place) => place).filter((place) => code[place] !== read[place]);
  const [first, second] = wrong;
  if (wrong.length === 1) return true;
  if (first === undefined || wrong.length !== 2 || second !== first + 1) return false;
  return code[first] === read[second] && code[second] === read[first];
}

function isWithoutOne(longer: readonly string[], shorter: readonly string[]): boolean {
  if (longer.length !== shorter.length + 1) return false;
  const parting = longer.findIndex((one, place) => one !== shorter[place]);
  return longer.slice(parting + 1).every((one, place) => one === shorter[parting + place]);
}
