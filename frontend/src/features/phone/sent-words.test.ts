import { expect, test } from "vitest";
import { sentSentence } from "./sent-words.ts";

const base = { unsent: 0, stuck: 0, lastOk: "today 09:14", signedOut: false };

test("says first what is only here", () => {
  expect(sentSentence({ ...base, unsent: 12 })).toBe("12 entries are only on this phone. Last sent today 09:14.");
  expect(sentSentence({ ...base, unsent: 1, lastOk: "" })).toBe("1 entry is only on this phone. Nothing has been sent from this phone yet.");
});

test("never says safe while something waits", () => {
  for (const unsent of [1, 40]) for (const signedOut of [true, false]) {
    expect(sentSentence({ ...base, unsent, signedOut })).not.toMatch(/safe/);
  }
  expect(sentSentence(base)).toMatch(/safe/);
});

test("signed out is no reason to stop", () => {
  expect(sentSentence({ ...base, signedOut: true, unsent: 3 })).toMatch(/3 entries are only on this phone\. You can go on counting/);
});
