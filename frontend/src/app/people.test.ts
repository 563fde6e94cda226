import { expect, test } from "vitest";
import { mayWrite } from "../core/sync/rights.ts";
import type { Member } from "../sync/session.ts";
import { atLeast, atWorkNote, boundByDevice, mayTable, ROLES, ROLE_SENTENCES } from "./people.ts";

const someone = (name: string, role: Member["role"]): Member => ({ id: name, name, role });
const WORDS = { owner: "owner", grower: "grower", helper: "helper", viewer: "viewer" };

test("every role has its sentence, and the sentences agree with the table", () => {
  expect(Object.keys(ROLE_SENTENCES).sort()).toEqual([...ROLES].sort());
  const { entries, beside } = mayTable();
  expect(entries.filter((row) => row.by["viewer"])).toEqual([]); // "writes nothing down"
  expect(entries.length).toBeGreaterThan(35);
  expect(entries.every((row) => row.by["owner"])).toBe(true);
  expect(mayWrite("field_set", "helper")).toBe(false); // "no names, settings"
  expect(mayWrite("bought", "helper") || !mayWrite("bought", "grower")).toBe(false);
  expect(mayWrite("held_resolved", "grower") || !mayWrite("held_resolved", "owner")).toBe(false);
  expect(beside.find((row) => row.what.includes("buyers"))?.by).toEqual({ viewer: false, helper: false, grower: true, owner: true });
});

test("each row says what in words, and what fewer may do comes last", () => {
  const { entries } = mayTable();
  for (const row of entries) expect(row.what, row.kind).toMatch(/^[A-Z].* .*\.$/);
  const least = entries.map((row) => ROLES.findIndex((role) => row.by[role]));
  expect(least).toEqual([...least].sort((a, b) => a - b));
});

test("a role outside the table may nothing", () => {
  expect(atLeast("", "viewer")).toBe(false);
  expect(atLeast("server", "viewer")).toBe(false);
});

test("an owner on a helper's phone is told that the phone decides", () => {
  const ben = someone("Ben", "helper");
  expect(atWorkNote(someone("Ana", "owner"), ben, WORDS)).toBe("owner; here only as a helper");
  expect(boundByDevice(someone("Ana", "owner"), ben, WORDS)).toContain("paired for Ben (helper)");
  expect(atWorkNote(ben, someone("Ana", "owner"), WORDS)).toBe("helper");
  expect(boundByDevice(ben, someone("Ana", "owner"), WORDS)).toBe("");
});
