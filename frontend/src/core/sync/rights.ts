/** Who may write which kind: the one table, read by the server as well. */
import table from "../../../../tubertrack/core/stock/rights.json";
import type { Role } from "../stock/kinds.ts";

const least: Record<string, string> = table.least_role;

function rank(role: string): number {
  return table.roles.indexOf(role);
}

/** Nobody may write a kind that is not in the table. */
export function mayWrite(kind: string, role: string): boolean {
  const needed = least[kind];
  return needed !== undefined && rank(role) >= 0 && rank(role) >= rank(needed);
}

export function leastRole(kind: string): Role | undefined {
  return least[kind] as Role | undefined;
}

/** The role with fewer rights; one that is not in the table has none. */
export function lesserRole(a: Role, b: Role): Role {
  return rank(a) <= rank(b) ? a : b;
}
