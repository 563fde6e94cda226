import { expect, test } from "vitest";
import { enGb } from "./en-gb.ts";
import { enUs } from "./en-us.ts";

const said = (words: object): string => Object.values(words).flatMap((one) => (typeof one === "string" ? [one] : [said(one as object)])).join(" | ");

// What growers say on either side of the sea, by the usual dictionaries; from memory, no source.
const AMERICAN = /\b(mold|color|sulfur|plastic wrap|potting mix|trash|dug|wake up)\b/i;
const BRITISH = /\b(mould|colour|sulphur|cling film|compost|lifted|start into growth)\b/i;

test("the two sets of words are never mixed", () => {
  expect(said(enGb)).not.toMatch(AMERICAN);
  expect(said(enUs).replace("Compost heap", "")).not.toMatch(BRITISH);
});

test("every cause, sign and way out has a word in both", () => {
  for (const words of [enUs, enGb]) {
    for (const cause of ["rot", "dried_up", "frozen", "eaten", "neck_or_eyes_gone", "blind", "broken", "too_small", "flooded", "disease", "by_mistake", "other", "unknown"])
      expect(words.causes[cause], cause).toBeTruthy();
    for (const sign of ["wrinkled", "mould_wiped", "trimmed", "misted", "aired", "repacked", "sprouting", "look_again"])
      expect(words.signs[sign], sign).toBeTruthy();
  }
});

test("no screen writes a word of its own where growers differ", () => {
  const source = import.meta.glob<string>(["../../features/**/*.{svelte,ts}", "../**/*.{svelte,ts}", "!./*", "!../../**/*.test.ts"], {
    query: "?raw",
    import: "default",
    eager: true,
  });
  expect(Object.keys(source).length).toBeGreaterThan(100);
  const differing = /\b(molds?|moulds?|sulfur|sulphur|plastic wrap|cling film|potting mix|lifted|dr(?:y|ied|ying) off|(?:was|were) dug|cured|cold store|trash)\b/i;
  const own = /^\s*(\/\/|\/?\*)|w\.(mold|sulfur|cured|trash)\b/; // comments, and words that come from here
  const found = Object.entries(source).flatMap(([file, text]) =>
    text.split("\n").filter((line) => !own.test(line) && differing.test(line)).map((line) => `${file}: ${line.trim()}`),
  );
  expect(found).toEqual([]);
});
