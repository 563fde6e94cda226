import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { isolated, tame } from "./letters.ts";

const ODD = fc.array(
  fc.constantFrom("a", "7", "\u05d0", "\u0627", "\u202a", "\u202e", "\u202c", "\u2066", "\u2067", "\u2068", "\u2069", "\u0301", "\ud83c", "\u{1f331}"),
  { maxLength: 30 },
);
const text = ODD.map((letters) => letters.join(""));

/** How deep the isolates stand at the end, or -1 when one was ended that had not begun. */
function depth(words: string): number {
  let deep = 0;
  for (const letter of words) {
    if (letter === "\u2069") deep -= 1;
    else if (/[\u2066-\u2068]/.test(letter)) deep += 1;
    if (deep < 0) return -1;
  }
  return deep;
}

describe("words of people among ours", () => {
  it("leaves ordinary names as they are", () => {
    for (const name of ["Oddny Larkvane", "Gräfin Ottoline von Hessenquell", "12", "Crêpe à l’Été", "\u{1f331} seed", "<script>"]) {
      expect(isolated(name)).toBe(name);
    }
  });

  it("takes overrides out and ends of nothing", () => {
    expect(tame("a\u202e99 tubers\u202c")).toBe("a99 tubers");
    expect(tame("\u2069\u202d55")).toBe("55");
    expect(tame("\u2067\u05d0 12")).toBe("\u05d0 12");
  });

  it("keeps isolates that end", () => {
    expect(tame("\u2067\u05d0\u05d1 12\u2069 34")).toBe("\u2067\u05d0\u05d1 12\u2069 34");
  });

  it("keeps a name from the right to itself", () => {
    expect(isolated("\u05d3\u05dc\u05d9\u05d4")).toBe("\u2068\u05d3\u05dc\u05d9\u05d4\u2069");
  });

  it("piles no more than four marks on a letter", () => {
    expect(tame("Z\u0300\u0301\u0302\u0303\u0304\u0305x")).toBe("Z\u0300\u0301\u0302\u0303x");
  });

  it("lets endless words break, and leaves words and our addresses whole", () => {
    expect(tame(`a ${"W".repeat(30)} b`)).toBe(`a ${["W".repeat(10), "W".repeat(10), "W".repeat(10)].join("\u200b")} b`);
    expect(tame("\u{1f331}".repeat(30)).split("\u200b").map((part) => [...part].length)).toEqual([10, 10, 10]);
    for (const whole of ["Donaudampfschifffahrt", "http://192.168.100.100:8000/trust", "3f2504e0-4f89"]) expect(tame(whole)).toBe(whole);
  });

  it("leaves nothing that turns, and every isolate ended, whatever comes", () => {
    fc.assert(
      fc.property(text, (words) => {
        for (const told of [tame(words), isolated(words)]) {
          expect(told).not.toMatch(/[\u202a-\u202e]/);
          expect(depth(told)).toBe(0);
          expect(tame(told)).toBe(told);
        }
      }),
    );
  });
});
