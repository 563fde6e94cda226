/** A contradiction in the history as a value: what, which records, figures, and the ways out. */
import type { Problem } from "./state.ts";

export interface ProblemParts {
  outs: string[];
  /** Entries whose voiding clears it. */
  voidable?: readonly string[];
  facts?: Record<string, string | number>;
}

export type Found = ReadonlyMap<string, Problem>;
export const NO_PROBLEMS: Found = new Map();

export function problem(code: string, records: readonly string[], parts: ProblemParts): Problem {
  const { outs, voidable = [], facts = {} } = parts;
  return { code, records: [...records], voidable: [...voidable].sort(), facts, outs, accepted: "" };
}
