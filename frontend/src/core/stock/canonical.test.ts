import { expect, test } from "vitest";
import { canonical } from "./canonical.ts";

// Expected texts are those of Python's json.dumps(sort_keys, ensure_ascii, no spaces).
test.each<[unknown, string]>([
  [{ b: 1, a: [true, null, "x"] }, '{"a":[true,null,"x"],"b":1}'],
  [{ "\uffff": 1, "\u{1f33c}": 2, z: 3 }, '{"z":3,"\\uffff":1,"\\ud83c\\udf3c":2}'],
  ["é\u007f\n\"\\\ud800\u2028", '"\\u00e9\\u007f\\n\\"\\\\\\ud800\\u2028"'],
  [-0, "0"],
  [{ "10": 1, "9": 2 }, '{"10":1,"9":2}'],
  [{ ab: 1, a: 2 }, '{"a":2,"ab":1}'],
])("%j", (value, expected) => {
  expect(canonical(value)).toBe(expected);
});
