/** The list of what does not add up: open ones by cause, and those of one person, phone, cause or crate. Pure. */
import type { Problem, StockState } from "../../core/stock/state.ts";
import { cratesOf } from "../../app/doubts.ts";
import { GROUPS, groupOf, type Group } from "./problem-words.ts";

export interface DoubtRow {
  key: string;
  problem: Problem;
  group: Group;
  /** Ids of those who wrote the entries, and of the phones they wrote them on. */
  people: string[];
  phones: string[];
  crates: string[];
  /** The latest day one of the entries happened on; "" when none is here. */
  on: string;
}

export interface Only {
  who: string;
  phone: string;
  cause: string;
  crate: string;
  lot: string;
}

interface Writer {
  author: string;
  device: string;
  occurred_on: string;
}

export const NO_FILTER: Only = { who: "", phone: "", cause: "", crate: "", lot: "" };
const NAMES = ["who", "phone", "cause", "crate", "lot"] as const;

export function filterFrom(query: URLSearchParams): Only {
  return Object.fromEntries(NAMES.map((name) => [name, query.get(name) ?? ""])) as unknown as Only;
}

/** "?who=…&crate=…", "" for everything. */
export function filterQuery(only: Only): string {
  const query = new URLSearchParams(NAMES.flatMap((name) => (only[name] ? [[name, only[name]] as [string, string]] : []))).toString();
  return query ? `?${query}` : "";
}

export function rowsOf(
  problems: Record<string, Problem>,
  find: (sha: string) => Writer | undefined,
  state: Pick<StockState, "lots">,
): { open: DoubtRow[]; left: DoubtRow[] } {
  const rows = Object.entries(problems).map(([key, problem]): DoubtRow => {
    const entries = problem.records.flatMap((sha) => find(sha) ?? []);
    return {
      key,
      problem,
      group: groupOf(problem.code),
      people: [...new Set(entries.map((one) => one.author))],
      phones: [...new Set(entries.map((one) => one.device))],
      crates: cratesOf(problem, state),
      on: entries.reduce((last, one) => (one.occurred_on > last ? one.occurred_on : last), ""),
    };
  });
  rows.sort((a, b) => GROUPS.indexOf(a.group) - GROUPS.indexOf(b.group) || compare(b.on, a.on) || compare(a.key, b.key));
  return { open: rows.filter((row) => !row.problem.accepted), left: rows.filter((row) => row.problem.accepted) };
}

export function onlyThose(rows: readonly DoubtRow[], only: Only): DoubtRow[] {
  const { who, phone, cause, crate, lot } = only;
  return rows.filter(
    (row) =>
      (!who || row.people.includes(who)) &&
      (!phone || row.phones.includes(phone)) &&
      (!cause || row.group === cause) &&
      (!crate || row.crates.includes(crate)) &&
      (!lot || row.problem.facts["lot"] === lot),
  );
}

/** The first `most` rows by cause, causes in a fixed order; `all` counts what is not shown too. */
export function byCause(rows: readonly DoubtRow[], most: number): { group: Group; rows: DoubtRow[]; all: number }[] {
  const shown = rows.slice(0, most);
  return GROUPS.map((group) => ({
    group,
    rows: shown.filter((row) => row.group === group),
    all: rows.filter((row) => row.group === group).length,
  })).filter((one) => one.rows.length > 0);
}

/** The keys before and after this one; of one that is gone, what took its place. */
export function beside(rows: readonly DoubtRow[], key: string): { at: number; before: string; after: string } {
  const at = rows.findIndex((row) => row.key === key);
  return { at, before: rows[at - 1]?.key ?? "", after: rows[at + 1]?.key ?? "" };
}

/** An open contradiction of the same sort about the same things, when the figures of this key are no more. */
export function standsNowAs(key: string, problems: Record<string, Problem>): string {
  if (problems[key]) return "";
  const [code = "", first = ""] = key.split(":");
  const of = Object.entries(problems).filter(([other, one]) => !one.accepted && other.startsWith(`${code}:${first}:`));
  return of.map(([other]) => other).sort(compare)[0] ?? "";
}

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}
