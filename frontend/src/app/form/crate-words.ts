/** Which crate somebody means who typed or scanned something. Pure. */
import { showCode } from "../../core/codes/codes.ts";
import type { StockState } from "../../core/stock/state.ts";
import { crateName } from "../names.ts";
import { readCode, readTyped, type Reading } from "../reading.ts";

export type Meant =
  | { is: "crate"; crate: string }
  /** A label that is on nothing yet: it makes a crate. */
  | { is: "label"; code: string }
  | { is: "number"; number: string }
  | { is: "nothing"; why: string };

const nothing = (why: string): Meant => ({ is: "nothing", why });

function meantBy(reading: Reading, state: StockState): Meant | null {
  if (reading.sort === "crate") return { is: "crate", crate: reading.id };
  if (reading.sort === "unknown") return { is: "label", code: reading.code };
  if (reading.sort === "slip") {
    const [near] = reading.near;
    const owner = near ? state.codes[near] : undefined;
    const named = owner?.target === "crate" ? ` (${crateName(state, owner.id)})` : "";
    return nothing(`“${reading.typed}” is not a code.${near ? ` Did you mean ${showCode(near)}${named}?` : " Check it against the label."}`);
  }
  if (reading.sort === "foreign") return null;
  return nothing(`${showCode(reading.code)} is on a ${reading.sort === "lot" ? "batch" : reading.sort}, not on a crate.`);
}

/** What hands typed: a number nobody gave yet is a new crate. */
export function crateTyped(text: string, state: StockState): Meant {
  const words = text.trim().replace(/^crate\s+/i, "");
  return meantBy(readTyped(words, state), state) ?? { is: "number", number: words };
}

export function crateScanned(text: string, state: StockState): Meant {
  return meantBy(readCode(text, state), state) ?? nothing("That is not one of the farm's labels. Scan a crate's label, or type its number.");
}
