/** The entries on every side of a contradiction, and what is known of each. Pure. */
import type { Problem } from "../../core/stock/state.ts";
import type { LocalEntry } from "../../sync/session.ts";
import { takeBack } from "./ways.ts";

export interface Side {
  sha: string;
  /** "against": it disagrees. "book": what was written before goes by it. */
  part: "against" | "book";
}

/** More than this of what the book goes by is told by the sum alone. */
const MOST_OF_BOOK = 12;

export interface Look {
  /** Entries whose amounts make the sum, in order. */
  steps: readonly { record: string }[];
  /** Entries that name the lot, oldest first. */
  about: (lot: string) => readonly LocalEntry[];
  isUndone: (entry: LocalEntry) => boolean;
}

/**
 * Both sides, each entry once: what the book went by first, oldest first, then the entries
 * that disagree with it or with each other, in the order the contradiction names them.
 */
export function sidesOf(problem: Problem, look: Look): Side[] {
  const against = [...new Set([...problem.records, ...takeBack(problem)])];
  const book = [...new Set([...look.steps.map((one) => one.record), ...placedBy(problem, look)])];
  const rest = book.filter((sha) => !against.includes(sha)).slice(-MOST_OF_BOOK);
  return [
    ...rest.map((sha): Side => ({ sha, part: "book" })),
    ...against.map((sha): Side => ({ sha, part: "against" })),
  ];
}

/** The entry by which a lot that was found elsewhere lies where the book has it. */
function placedBy({ code, facts }: Problem, look: Look): string[] {
  const { lot, container } = facts;
  if (code !== "lot_elsewhere" || typeof lot !== "string" || typeof container !== "string" || !container) return [];
  const puts = look.about(lot).filter((entry) => !look.isUndone(entry) && putsInto(entry.body, container));
  return puts.slice(-1).map((entry) => entry.sha);
}

function putsInto(body: Record<string, unknown>, container: string): boolean {
  if (body["container"] === container || (body["crate"] === container && Array.isArray(body["lots"]))) return true;
  const into = [body["into"], body["lots"]].flatMap((value) => (Array.isArray(value) ? (value as unknown[]) : []));
  return into.some((line) => typeof line === "object" && line !== null && (line as Record<string, unknown>)["container"] === container);
}
