/** What an entry states about lots besides amounts: where they come from, what they are, where they lie. */
import { lotIds, lotLines, remembered, type Act, type ActBody, type IntoLine } from "./acts.ts";

/** A lot comes into being: what the entry itself says of it, and the lots it comes from. */
export interface Birth {
  lot: string;
  parents: string[];
  planting: string;
  variety: string;
  unit: string;
  eyes: string;
  grade: string;
  about: boolean;
  container: string;
  code: string;
}

/** A lot is put into a container; "" takes it out. */
export interface Placement {
  lot: string;
  container: string;
}

const UNIT_OF_KIND = new Map([
  ["dug", "clump"],
  ["divided", "tuber"],
  ["struck", "cutting"],
  ["rooted", "pot_plant"],
  ["potted", "pot_plant"],
]);
const MAKES_INTO = new Set(["divided", "graded", "split", "struck", "rooted", "potted"]);
const MAKES_LOTS = new Set(["packed", "dug"]);

type BornLine = Omit<IntoLine, "count">;

function birth(act: Act, line: BornLine, parents: readonly string[], planting = ""): Birth {
  const { body, kind } = act;
  return {
    lot: line.lot,
    parents: parents.filter((parent) => parent !== line.lot),
    planting,
    variety: line.variety || (kind === "dug" ? body.variety : "") || "",
    unit: line.unit ?? UNIT_OF_KIND.get(kind) ?? "",
    eyes: line.eyes ?? "",
    grade: line.grade ?? "",
    about: line.about ?? false,
    container: kind === "packed" ? (body.crate ?? "") : line.container || body.container || "",
    code: line.code ?? "",
  };
}

/** The lots that an entry brings into being (or adds to), in the order it names them. */
export function births(act: Act): Birth[] {
  return remembered(act, "births", workOutBirths);
}

function workOutBirths(act: Act): Birth[] {
  const { body, kind } = act;
  if (MAKES_INTO.has(kind) || MAKES_LOTS.has(kind)) {
    const parents = (body.from ?? []).map((line) => line.lot);
    const planting = kind === "dug" ? (body.planting ?? "") : "";
    const lines = MAKES_INTO.has(kind) ? (body.into ?? []) : lotLines(body);
    return lines
      .map((line) => birth(act, line, parents, planting))
      .filter((one) => !parents.includes(one.lot));
  }
  if (kind === "found" || kind === "bought") return [birth(act, body as BornLine, [])];
  if (kind === "returned") return [birth(act, body as BornLine, body.of === undefined ? [] : [body.of])];
  return [];
}

/** Each lot that the entry puts somewhere. */
export function placements(act: Act): Placement[] {
  return remembered(act, "placements", workOutPlacements);
}

function workOutPlacements(act: Act): Placement[] {
  const { body, kind } = act;
  if (kind === "moved" && body.lot !== undefined && body.container !== undefined) {
    return [{ lot: body.lot, container: body.container }];
  }
  if (kind === "packed") {
    return lotLines(body).map((line) => ({ lot: line.lot, container: body.crate ?? "" }));
  }
  if (kind === "emptied") return lotIds(body).map((lot) => ({ lot, container: "" }));
  return births(act).filter((one) => one.container !== "");
}

/** Where the entry puts a lot; undefined when it does not. */
export function placementOf(act: Act, lot: string): string | undefined {
  return placements(act).findLast((put) => put.lot === lot)?.container;
}

export interface GivenCode {
  code: string;
  target: string;
  id: string;
}

/** Each code that the entry gives to a thing. */
export function codes(act: Act): GivenCode[] {
  const { body } = act;
  if (act.kind === "labelled") {
    return [{ code: body.code ?? "", target: body.target ?? "", id: body.id ?? "" }];
  }
  return births(act)
    .filter((one) => one.code !== "")
    .map((one) => ({ code: one.code, target: "lot", id: one.lot }));
}

function lotsInLines(body: ActBody): string[] {
  const found: string[] = [];
  for (const lines of [body.from, body.into, body.lines]) {
    if (Array.isArray(lines)) for (const line of lines) found.push(line.lot);
  }
  for (const line of body.lots ?? []) found.push(typeof line === "string" ? line : line.lot);
  return found;
}

/** Everything whose page an entry may change, by the kind of thing. */
export interface Touched {
  lots: Set<string>;
  crates: Set<string>;
  plantings: Set<string>;
}

/** The lots, crates and plantings that an entry names. */
export function touched(act: Act): Touched {
  const { body, kind } = act;
  const lots = new Set(lotsInLines(body));
  const crates = new Set<string>();
  const plantings = new Set<string>();
  add(lots, body.lot, body.of);
  add(crates, body.crate, body.container);
  for (const { container } of placements(act)) if (container !== "") crates.add(container);
  add(plantings, body.planting, body.from_planting);
  if (kind === "flagged" || kind === "labelled") {
    if (body.target === "lot") add(lots, body.id);
    if (body.target === "crate") add(crates, body.id);
    if (body.target === "planting") add(plantings, body.id);
  }
  return { lots, crates, plantings };
}

function add(found: Set<string>, ...ids: (string | undefined)[]): void {
  for (const id of ids) if (id !== undefined) found.add(id);
}
