/** Who may do what, in words; drawn from the one table of rights. Pure. */
import may from "../../../tubertrack/apps/accounts/may.json";
import rights from "../../../tubertrack/core/stock/rights.json";
import { KINDS, type Role } from "../core/stock/kinds.ts";
import { schemaOf } from "../core/sync/schemas.ts";
import { leastRole, lesserRole, mayWrite } from "../core/sync/rights.ts";
import type { Member } from "../sync/session.ts";

/** From the fewest rights to the most. */
export const ROLES = rights.roles.filter((role) => role !== "server") as Role[];

/** One sentence each; held to the table by a test. */
export const ROLE_SENTENCES: Record<string, string> = {
  viewer: "Looks at everything but buyers and prices, and writes nothing down.",
  helper: "Writes the work down and mends their own entries. No names, settings, buyers or prices.",
  grower: "Also mends what others wrote, changes names and settings, buys in, keeps buyers and prices.",
  owner: "Everything: also people and phones, and what becomes of entries set aside.",
};

/** What is no entry and so not in the table of kinds, by the farm computer's own table of its addresses. */
const BESIDE_ENTRIES: readonly { what: string; least: string }[] = [
  { what: "See everything that was written down, reports and labels.", least: may.farm.GET },
  { what: "Undo and correct their own entries.", least: rights.least_role.record_voided },
  { what: "Undo and correct the entries of others.", least: "grower" }, // the fold's own rule: living.ts
  { what: "See and change buyers, sales and prices.", least: may.buyers.GET },
  { what: "Add people, rename them, set what they may do.", least: may.members.POST },
  { what: "Erase a name.", least: may["member-erase"].POST },
  { what: "Pair a phone, and sign a lost one out.", least: may.pairing.POST },
];

export const atLeast = (role: string, least: string): boolean => ROLES.indexOf(role as Role) >= ROLES.indexOf(least as Role) && ROLES.includes(role as Role);

export interface MayRow {
  what: string;
  kind: string;
  /** Role → may. */
  by: Record<string, boolean>;
}

/** Every kind of entry a person can write, most widely allowed first, and what lies beside entries. */
export function mayTable(): { entries: MayRow[]; beside: MayRow[] } {
  const entries = KINDS.filter((kind) => leastRole(kind) !== "server" && leastRole(kind) !== undefined)
    .map((kind) => ({ what: String(schemaOf(kind, 1)?.["title"] ?? kind.replaceAll("_", " ")), kind, by: byRole((role) => mayWrite(kind, role)) }))
    .sort((a, b) => rank(leastRole(a.kind)) - rank(leastRole(b.kind)));
  const beside = BESIDE_ENTRIES.map(({ what, least }) => ({ what, kind: "", by: byRole((role) => atLeast(role, least)) }));
  return { entries, beside };
}

const rank = (role: string | undefined): number => ROLES.indexOf(role as Role);
const byRole = (may: (role: Role) => boolean): Record<string, boolean> => Object.fromEntries(ROLES.map((role) => [role, may(role)]));

/** What is added to the name of somebody who writes on a phone that was paired for another. */
export function atWorkNote(person: Member, device: Member, roles: Record<string, string>): string {
  const own = roles[person.role] ?? person.role;
  return lesserRole(person.role, device.role) === person.role ? own : `${own}; here only as ${article(roles[device.role] ?? device.role)}`;
}

/** Why the person at work may do less here than elsewhere; "" when that is not so. */
export function boundByDevice(person: Member, device: Member, roles: Record<string, string>): string {
  if (lesserRole(person.role, device.role) === person.role) return "";
  const may = roles[device.role] ?? device.role;
  return `This phone was paired for ${device.name} (${may}). Whoever writes on it can do what ${article(may)} may, and no more.`;
}

/** "a helper", "an owner" */
export const article = (word: string): string => `${/^[aeiou]/i.test(word) ? "an" : "a"} ${word}`;
