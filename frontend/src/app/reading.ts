/** What a scanned or typed text stands for in this farm. Pure; never a dead end. */
import { isValidCode, knownCodesOneAway, normaliseCode } from "../core/codes/codes.ts";
import type { StockState } from "../core/stock/state.ts";
import { crateCalled } from "./choices.ts";

export type Reading =
  | { sort: "crate" | "lot" | "planting" | "place"; id: string; code: string }
  /** A good code nothing on this phone has; `blank` when it was printed ahead. */
  | { sort: "unknown"; code: string; blank: boolean }
  /** A slip of the hand: known codes one character away. */
  | { sort: "slip"; typed: string; near: string[] }
  /** Something else altogether. */
  | { sort: "foreign"; text: string };

const TARGETS = ["crate", "lot", "planting", "place"] as const;

export function readCode(text: string, state: StockState): Reading {
  const code = normaliseCode(text);
  if (code === null) {
    const near = knownCodesOneAway(text, Object.keys(state.codes));
    return near.length > 0 ? { sort: "slip", typed: text, near } : { sort: "foreign", text };
  }
  const known = state.codes[code];
  const target = TARGETS.find((one) => one === known?.target);
  if (known && target) return { sort: target, id: known.id, code };
  if (isValidCode(code)) return { sort: "unknown", code, blank: state.printed[code] !== undefined };
  return { sort: "slip", typed: text, near: knownCodesOneAway(text, Object.keys(state.codes)) };
}

/** The same for what hands typed: a crate's plain number or name comes first. */
export function readTyped(text: string, state: StockState): Reading {
  const crate = crateCalled(state, text);
  if (crate) return { sort: "crate", id: crate, code: state.crates[crate]?.code ?? "" };
  return readCode(text, state);
}
