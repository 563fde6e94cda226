import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  ALPHABET,
  BYTES_PER_CODE,
  checkCharacter,
  codeFromBytes,
  hasValidCheck,
  isValidCode,
  knownCodesOneAway,
  normaliseCode,
  showCode,
} from "./codes.ts";

interface Vectors {
  check_characters: { text: string; check: string; source: string }[];
  made_of_bytes: { bytes: string; code: string | null }[];
  read: { text: string; code: string | null }[];
  valid: { code: string; valid: boolean }[];
  known: string[];
  one_slip: { typed: string; near: string[] }[];
}

// The same vectors are read by the server's tests.
const vectors = JSON.parse(
  readFileSync(new URL("../../../../tests/reference/codes.json", import.meta.url), "utf-8"),
) as Vectors;

const bytesOf = (hex: string) => Uint8Array.from(hex.match(/../g) ?? [], (two) => parseInt(two, 16));
const randomBytes = fc.uint8Array({ minLength: BYTES_PER_CODE, maxLength: BYTES_PER_CODE });
const codes = randomBytes.map(codeFromBytes).filter((code): code is string => code !== null);

describe("the shared vectors", () => {
  test.each(vectors.check_characters)("check character of '$text': $source", ({ text, check }) => {
    expect(checkCharacter(text)).toBe(check);
    expect(hasValidCheck(text + check)).toBe(true);
  });
  test.each(vectors.made_of_bytes)("code made of $bytes", ({ bytes, code }) => {
    expect(codeFromBytes(bytesOf(bytes))).toBe(code);
  });
  test.each(vectors.read)("'$text' is read as $code", ({ text, code }) => {
    expect(normaliseCode(text)).toBe(code);
  });
  test.each(vectors.valid)("$code valid: $valid", ({ code, valid }) => {
    expect(isValidCode(code)).toBe(valid);
  });
  test.each(vectors.one_slip)("'$typed' is one slip from $near", ({ typed, near }) => {
    expect(knownCodesOneAway(typed, vectors.known)).toEqual(near);
  });
});

test("every single wrong character is caught", () => {
  fc.assert(
    fc.property(codes, fc.nat(7), (code, place) => {
      for (const other of "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ") {
        const typed = code.slice(0, place) + other + code.slice(place + 1);
        expect(hasValidCheck(typed)).toBe(typed === code);
      }
    }),
  );
});

test("a made code is valid and has no look-alikes", () => {
  fc.assert(
    fc.property(codes, (code) => {
      expect(isValidCode(code)).toBe(true);
      expect(code).not.toMatch(/[ILOU]/);
    }),
  );
});

test("a code is read back however it is written", () => {
  fc.assert(
    fc.property(codes, fc.webUrl(), (code, address) => {
      const written = [
        showCode(code),
        showCode(code).toLowerCase(),
        [...code].join(" "),
        code.replaceAll("1", "l").replaceAll("0", "o"),
        `${new URL(address).origin}/${code}`,
        `HTTPS://FARM.EXAMPLE/a/${code.toLowerCase()}/`,
      ];
      for (const text of written) expect(normaliseCode(text)).toBe(code);
    }),
  );
});

test("any text is read as a code or as null", () => {
  fc.assert(
    fc.property(fc.string({ unit: "binary" }), (text) => {
      const read = normaliseCode(text);
      expect(read === null || (read.length === 8 && [...read].every((one) => ALPHABET.includes(one)))).toBe(true);
    }),
  );
});

test("one wrong character leads back to the code", () => {
  fc.assert(
    fc.property(codes, fc.nat(7), fc.constantFrom(...ALPHABET), (code, place, other) => {
      const typed = code.slice(0, place) + other + code.slice(place + 1);
      expect(knownCodesOneAway(typed, [code])).toEqual(typed === code ? [] : [code]);
    }),
  );
});

test("other numbers of bytes and other characters are refused", () => {
  expect(() => codeFromBytes(new Uint8Array(4))).toThrow(/5 bytes/);
  expect(() => checkCharacter("4k")).toThrow(/not one of/);
  expect(hasValidCheck("4k")).toBe(false);
  expect(hasValidCheck("")).toBe(false);
});
