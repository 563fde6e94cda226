import { expect, test } from "vitest";
import { codeOfAddress, pairingCode, shouldInstallFirst } from "./pairing-text.ts";

test.each([
  ["402 913", "402913"],
  [" 402913 ", "402913"],
  ["https://farm.local:8443/pair/402913", "402913"],
  ["https://farm.local:8443/pair/q9Xk2_-abcdefghijklmnop", "q9Xk2_-abcdefghijklmnop"],
  ["https://farm.local:8443/pair/q9Xk2_-abcdefghijklmnop/", "q9Xk2_-abcdefghijklmnop"],
  ["40291", ""],
  ["4029133", ""],
  ["https://farm.local/t/4K7QM2X1", ""],
  ["https://farm.local/pair/short", ""],
  ["", ""],
])("%s is read as %s", (text, code) => expect(pairingCode(text)).toBe(code));

test("the address alone is enough", () => {
  expect(codeOfAddress("q9Xk2_-abcdefghijklmnop")).toBe("q9Xk2_-abcdefghijklmnop");
  expect(codeOfAddress("402913")).toBe("402913");
  expect(codeOfAddress("1234567890123456")).toBe("");
});

test("only an iPhone's tab waits for the home screen", () => {
  expect(shouldInstallFirst("Mozilla/5.0 (iPhone; CPU iPhone OS 18_4 like Mac OS X)", false)).toBe(true);
  expect(shouldInstallFirst("Mozilla/5.0 (iPhone; CPU iPhone OS 18_4 like Mac OS X)", true)).toBe(false);
  expect(shouldInstallFirst("Mozilla/5.0 (Linux; Android 14)", false)).toBe(false);
});
