/** Who may write what: the forms refuse what the server would set aside, kind by kind and role by role. */
import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { ROLES, KINDS, type Role } from "../core/stock/kinds.ts";
import { lesserRole, mayWrite } from "../core/sync/rights.ts";
import { makerFor, type Desk } from "./drafting.ts";
import { SaveFailed, type Draft, type Member } from "./session-types.ts";

interface Rights {
  roles: Role[];
  from: Record<string, string[]>;
}
interface Golden {
  records: { row: { raw: string } }[];
}

// The server's tests read the same files.
const tests = new URL("../../../tests/", import.meta.url);
const rights = JSON.parse(readFileSync(new URL("reference/rights.json", tests), "utf-8")) as Rights;
const least = new Map(Object.entries(rights.from).flatMap(([role, kinds]) => kinds.map((kind) => [kind, role as Role])));

function allowed(role: Role, kind: string): boolean {
  return rights.roles.indexOf(role) >= rights.roles.indexOf(least.get(kind) ?? "server");
}

function draftOf(kind: string): Draft {
  const golden = JSON.parse(readFileSync(new URL(`corpus/records/${kind}.v1.json`, tests), "utf-8")) as Golden;
  const { body } = JSON.parse(golden.records[1]?.row.raw ?? "") as { body: Record<string, unknown> };
  return { kind, body } as Draft;
}

function person(role: Role): Member {
  return { id: "33333333-3333-4333-8333-333333333333", name: "Ana", role };
}

function desk(author: Role, member: Role = author): Desk {
  return {
    farm: { id: "11111111-1111-4111-8111-111111111111", name: "Tarrowby", time_zone: "UTC", as_of: null },
    device: "22222222-2222-4222-8222-222222222222",
    member: person(member),
    author: person(author),
    now: 1_800_000_000_000,
    today: "2027-01-15",
    randomBytes: (count) => new Uint8Array(count),
  };
}

function refused(draft: Draft, at: Desk): boolean {
  try {
    makerFor(draft, at);
    return false;
  } catch (error) {
    if (!(error instanceof SaveFailed)) throw error;
    expect(error.message).toMatch(/may not write this down/);
    return true;
  }
}

test("every kind has its row", () => {
  expect([...least.keys()].sort()).toEqual([...KINDS].sort());
  expect(rights.roles).toEqual([...ROLES]);
});

test.each([...KINDS])("%s: the form lets by whom the table lets by, and nobody else", (kind) => {
  const draft = draftOf(kind);
  for (const role of ROLES) {
    expect(mayWrite(kind, role), role).toBe(allowed(role, kind));
    expect(refused(draft, desk(role)), role).toBe(!allowed(role, kind));
  }
});

test("who writes on another's phone has the lesser rights of the two", () => {
  for (const author of ROLES) {
    for (const member of ROLES) {
      const role = rights.roles[Math.min(rights.roles.indexOf(author), rights.roles.indexOf(member))] as Role;
      expect(lesserRole(author, member)).toBe(role);
      for (const kind of ["counted", "field_set", "held_resolved", "record_reclassified"]) {
        expect(refused(draftOf(kind), desk(author, member)), `${author} on a ${member}'s phone`).toBe(!allowed(role, kind));
      }
    }
  }
});

test("what is kept until the feed has it says the role it will have", () => {
  const { row } = makerFor(draftOf("counted"), desk("owner", "helper"))({ device_seq: 1, clock: [0, 0] });
  expect(row.role).toBe("helper");
});

test("nobody may write a kind that the table does not know", () => {
  for (const role of ROLES) expect(mayWrite("graft_taken", role)).toBe(false);
  expect(mayWrite("counted", "king")).toBe(false);
});
