import { readdirSync, readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { KINDS } from "../stock/kinds.ts";
import { leastRole, lesserRole, mayWrite } from "./rights.ts";
import { knownKinds, newestVersion } from "./schemas.ts";
import { refusals } from "./validate.ts";
import { FIELD_WORDS } from "./wording.ts";

const LOT = "44444444-4444-4444-8444-444444444444";
const CRATE = "55555555-5555-4555-8555-555555555555";

function sentences(kind: string, body: unknown): string[] {
  return refusals(kind, 1, body).map((one) => `${one.path}: ${one.sentence}`);
}

test("every kind has a schema, a rank and a least role", () => {
  const stock = new URL("../../../../tubertrack/core/stock/", import.meta.url);
  const files = readdirSync(new URL("kinds/", stock)).map((name) => name.split(".")[0]);
  const order = JSON.parse(readFileSync(new URL("order.json", stock), "utf-8")) as string[];
  expect([...KINDS]).toEqual(order);
  expect(knownKinds()).toEqual([...new Set(files)].sort());
  expect([...KINDS].sort()).toEqual(knownKinds());
  expect(KINDS.filter((kind) => leastRole(kind) === undefined)).toEqual([]);
  expect(newestVersion("checked")).toBe(1);
});

test("a good body is let by, unknown fields too", () => {
  expect(refusals("counted", 1, { lot: LOT, count: 3, mood: "dry" })).toEqual([]);
  expect(refusals("counted", 1, { lot: LOT, count: 3.0 })).toEqual([]);
});

test.each<[string, unknown, string[]]>([
  ["counted", { lot: LOT, count: -1 }, ["count: Count must be a whole number, 0 or more (a million at most)."]],
  ["counted", { lot: LOT, count: 2.5 }, ["count: Count must be a whole number, 0 or more (a million at most)."]],
  ["counted", { lot: LOT, count: "3" }, ["count: Count must be a whole number, 0 or more (a million at most)."]],
  ["counted", { lot: LOT }, ["count: Count is missing."]],
  ["counted", { lot: "x", count: 1 }, ["lot: Batch: choose one from the list."]],
  ["gone_out", { lot: LOT, count: 1, how: "lost" }, [
    "how: How it went out: choose one of sold, given, shown, heap, bin, burned, used.",
  ]],
  ["checked", { look: "top", lines: [] }, [": Choose a crate, or type the code on its label."]],
  ["checked", { crate: CRATE, look: "all", lines: [{ lot: LOT, removed: { rot: 0 } }] }, [
    "lines/0/removed/rot: Threw out must be a whole number, 1 or more (a million at most).",
  ]],
  ["checked", { crate: CRATE, look: "all", lines: [{ lot: LOT, removed: { "Rot!": 1 } }] }, [
    "lines/0/removed: Threw out: a cause is written in small letters without spaces.",
  ]],
  ["checked", { crate: CRATE, look: "top", lines: [], look_again_on: "3 Nov" }, [
    "look_again_on: Look again on must be a day, such as 2026-11-03.",
  ]],
  ["checked", { code: "4K7Q", look: "top", lines: [] }, [
    "code: Code must be the 8 letters and figures on the label.",
  ]],
  ["found", { lot: LOT, unit: "tuber", count: 2, variety: "Ana's" }, [
    "variety: Variety: choose one from the list, or leave it unknown.",
  ]],
  ["field_set", { table: "crates", row: CRATE, field: "place", value: CRATE }, [
    "field: Field: this is set by packing, moving or labelling, not by hand.",
  ]],
  ["packed", { crate: CRATE, lots: [] }, ["lots: Batches: at least 1 is needed."]],
  ["moved", { crate: CRATE }, [": Choose a crate and where it goes, or a batch and its new crate."]],
  ["emptied", { crate: CRATE, note: "x".repeat(20001) }, ["note: Note is too long: 20000 characters at most."]],
  ["sung_to", {}, [": This app does not know that kind of entry yet. Update it first."]],
])("%s %j reads like a person", (kind, body, expected) => {
  expect(sentences(kind, body)).toEqual(expected);
});

test("every field of every kind has words of its own", () => {
  const stock = new URL("../../../../tubertrack/core/stock/kinds/", import.meta.url);
  const missing = new Set<string>();
  for (const file of readdirSync(stock)) {
    const schema = JSON.parse(readFileSync(new URL(file, stock), "utf-8")) as {
      properties: Record<string, unknown>;
    };
    for (const name of Object.keys(schema.properties)) {
      const kind = file.split(".")[0] ?? "";
      if (!(name in FIELD_WORDS) && !(`${kind}/${name}` in FIELD_WORDS)) missing.add(`${kind}/${name}`);
    }
  }
  expect([...missing]).toEqual([]);
});

test("rights follow the table", () => {
  expect(mayWrite("checked", "viewer")).toBe(false);
  expect(mayWrite("checked", "helper")).toBe(true);
  expect(mayWrite("field_set", "helper")).toBe(false);
  expect(mayWrite("record_reclassified", "owner")).toBe(false);
  expect(mayWrite("sung_to", "server")).toBe(false);
  expect(mayWrite("checked", "emperor")).toBe(false);
  expect(lesserRole("owner", "helper")).toBe("helper");
});
