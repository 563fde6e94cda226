/** What an entry says, in the words of the people who wrote it. */
import type { StockState } from "../core/stock/state.ts";
import { capital, countOf, w } from "./words/index.svelte.ts";
import { lotName } from "./lot-words.ts";
import { crateName, methodName, placeName, spaced, text, varietyName } from "./names.ts";

type Body = Record<string, unknown>;
type Line = Record<string, unknown>;
type Sayer = (body: Body, state: StockState) => string;

const str = (value: unknown): string => (typeof value === "string" ? value : "");
const num = (value: unknown): number => (typeof value === "number" ? value : 0);
const lines = (value: unknown): Line[] =>
  Array.isArray(value) ? value.filter((one): one is Line => typeof one === "object" && one !== null) : [];
const tally = (value: unknown): Record<string, number> =>
  typeof value === "object" && value !== null ? (value as Record<string, number>) : {};
/** A figure as it was written: an entry that was set aside may hold anything there. */
function figure(value: unknown): string {
  if (typeof value === "number") return String(value);
  return value === undefined ? "?" : `“${typeof value === "string" ? value : JSON.stringify(value)}”`;
}
const amount = (value: unknown, unit: string): string =>
  typeof value === "number" ? countOf(value, unit) : `${figure(value)} ${countOf(2, unit).replace(/^\S+ /, "")}`;
const sum = (counts: Record<string, number>): number => Object.values(counts).reduce((a, b) => a + num(b), 0);
const lower = (words: string): string => words.charAt(0).toLowerCase() + words.slice(1);

/** "2 rot, 1 dried up" */
export function causesSay(value: unknown): string {
  return Object.entries(tally(value))
    .map(([cause, count]) => `${count} ${lower(w.causes[cause] ?? cause.replaceAll("_", " "))}`)
    .join(", ");
}

function signsSay(value: unknown): string {
  return Object.entries(tally(value))
    .map(([sign, count]) => `${count} ${lower(w.signs[sign] ?? sign.replaceAll("_", " "))}`)
    .join(", ");
}

function crate(state: StockState, id: unknown, code?: unknown): string {
  if (str(id)) return lower(crateName(state, str(id)));
  return str(code) ? `crate ${spaced(str(code))}` : "no crate";
}

const unitOfLot = (state: StockState, id: unknown): string => state.lots[str(id)]?.unit ?? "tuber";
const varietyOfLot = (state: StockState, id: unknown): string =>
  varietyName(state, state.lots[str(id)]?.variety ?? "unknown");

/** "74 tubers, 9 can't tell yet" of the lots that came out. */
function madeSay(state: StockState, into: Line[], fallback: string): string {
  return into
    .map((line) => {
      const unit = str(line["unit"]) || state.lots[str(line["lot"])]?.unit || fallback;
      const eyes = line["eyes"] === "unsure" ? ` (${w.eyes["unsure"] ?? "unsure"})` : "";
      return countOf(num(line["count"]), unit) + eyes;
    })
    .join(", ");
}

function takenSay(state: StockState, from: Line[]): string {
  const names = [...new Set(from.map((line) => varietyOfLot(state, line["lot"])))];
  const count = from.reduce((all, line) => all + num(line["count"]), 0);
  const unit = unitOfLot(state, from[0]?.["lot"]);
  return `${count ? `${countOf(count, unit)} of ` : ""}${names.join(", ") || "something"}`;
}

const but = (words: string, before: string): string => (words ? `${before}${words}` : "");
// Whoever shows the sentence ends it.
const noted = (body: Body): string => but(str(body["note"]).replace(/[\s.]+$/, ""), ". Note: ");

function checked(body: Body, state: StockState): string {
  const of = lines(body["lines"]);
  const look = { top: "Looked on top of", some: "Looked through part of", all: "Went through" }[str(body["look"])];
  const seen = of.filter((line) => typeof line["seen"] === "number");
  const seenSaid = seen.length ? `: ${seen.map((line) => num(line["seen"])).join(" + ")} seen` : "";
  const removed: Record<string, number> = {};
  for (const counts of [...of.map((line) => tally(line["removed"])), tally(body["unassigned"])]) {
    for (const [cause, count] of Object.entries(counts)) removed[cause] = (removed[cause] ?? 0) + num(count);
  }
  const kept = of.map((line) => signsSay(line["noted"])).filter(Boolean).join(", ");
  const thrown = sum(removed) ? `, threw out ${causesSay(removed)}` : seenSaid ? "" : ": nothing bad";
  return `${look ?? "Looked at"} ${crate(state, body["crate"], body["code"])}${seenSaid}${thrown}${but(kept, ", kept ")}${noted(body)}`;
}

function dug(body: Body, state: StockState): string {
  const lots = lines(body["lots"]);
  const clumps = lots.reduce((all, line) => all + num(line["count"]), 0);
  const names = [...new Set(lots.map((line) => varietyName(state, str(line["variety"]) || str(body["variety"]))))];
  const from = [but(str(body["bed"]), "bed "), but(str(body["row"]), "row ")].filter(Boolean).join(" ");
  const lost = [
    num(body["rotted"]) && `${num(body["rotted"])} rotted`,
    num(body["no_tubers"]) && `${num(body["no_tubers"])} without tubers`,
    num(body["nothing_there"]) && `${num(body["nothing_there"])} not there`,
    num(body["still_in"]) && `${num(body["still_in"])} still in`,
  ].filter(Boolean);
  const verb = capital(w.dug);
  return `${verb} ${countOf(clumps, "clump")} of ${names.join(", ") || "something"}${but(from, " from ")}${but(lost.join(", "), ", ")}${noted(body)}`;
}

function divided(body: Body, state: StockState): string {
  const out = body["not_counted"] === true ? "discards not counted" : but(causesSay(body["discarded"]), "threw out ");
  return `Divided ${takenSay(state, lines(body["from"]))} into ${madeSay(state, lines(body["into"]), "tuber")}${but(out, ", ")}${noted(body)}`;
}

function packed(body: Body, state: StockState): string {
  const lots = lines(body["lots"]);
  const what = lots
    .map((line) => `${line["about"] === true ? "~" : ""}${num(line["count"])} ${varietyName(state, str(line["variety"]) || state.lots[str(line["lot"])]?.variety || "")}`)
    .join(", ");
  const thrown: Record<string, number> = {};
  for (const line of lines(body["from"])) {
    for (const [cause, count] of Object.entries(tally(line["thrown_out"]))) thrown[cause] = (thrown[cause] ?? 0) + num(count);
  }
  const how = [but(methodName(state, str(body["method"])), "in "), but(placeName(state, str(body["place"])), "at ")].filter(Boolean);
  return `Packed ${what || "nothing"} into ${crate(state, body["crate"])}${but(how.join(", "), ", ")}${but(causesSay(thrown), ", threw out ")}${noted(body)}`;
}

function moved(body: Body, state: StockState): string {
  if (str(body["lot"])) {
    return `Moved ${lotName(state, str(body["lot"]))} into ${crate(state, body["container"])}`;
  }
  const to = [placeName(state, str(body["place"])), but(str(body["position"]), "position ")].filter(Boolean).join(", ");
  return `Moved ${crate(state, body["crate"])} to ${to || "another place"}`;
}

function woken(body: Body, state: StockState): string {
  const name = lotName(state, str(body["lot"]));
  if (body["back"] === true) return `Put back into store: ${name}`;
  const thrown = but(causesSay(body["thrown_out"]), ", threw out ");
  const showing = num(body["showing"]) ? `, ${num(body["showing"])} with eyes showing` : "";
  return `${w.wakeUp === "Wake up" ? "Woke up" : "Started into growth"} ${name}${showing}${thrown}${noted(body)}`;
}

function fieldSet(body: Body, state: StockState): string {
  const table = str(body["table"]);
  const row = str(body["row"]);
  const name = table === "settings" ? "the farm" : table === "crates" ? crate(state, row) : text(state, table as "varieties", row, "name") || `a new one in ${table}`;
  const value = (body["value"] ?? "nothing") as string | number | boolean;
  if (body["field"] === "archived") return `${value === true ? "Put away" : "Brought back"} ${name}`;
  return `Set ${str(body["field"]).replaceAll("_", " ")} of ${name} to ${String(value)}`;
}

function measured(body: Body, state: StockState): string {
  const readings = lines(body["readings"]);
  const where = str(body["place"]) ? placeName(state, str(body["place"])) : crate(state, body["crate"]);
  return `Measured ${readings.length === 1 ? "temperature and humidity" : `${readings.length} readings`} in ${where}`;
}

const inOut = (verb: string, unit: string): Sayer => (body, state) =>
  `${verb} ${takenSay(state, lines(body["from"]))} into ${madeSay(state, lines(body["into"]), unit)}${but(causesSay(body["discarded"]), ", threw out ")}${noted(body)}`;
const lotsOf = (verb: () => string): Sayer => (body, state) => {
  const ids = Array.isArray(body["lots"]) ? (body["lots"] as unknown[]).map(str) : [];
  return `${verb()}: ${ids.map((id) => lotName(state, id)).join("; ") || "nothing"}${but(placeName(state, str(body["place"])), ", at ")}${noted(body)}`;
};
const ofPlanting = (verb: string): Sayer => (body, state) => {
  const one = state.plantings[str(body["planting"])];
  const where = one ? `${varietyName(state, one.variety)}${but(one.bed, ", bed ")}${but(one.row, " row ")}` : "a planting";
  return `${verb} ${where}${noted(body)}`;
};

const SAYERS: Record<string, Sayer> = {
  checked,
  dug,
  divided,
  packed,
  moved,
  woken,
  measured,
  field_set: fieldSet,
  graded: inOut("Sorted again", "tuber"),
  split: inOut("Split", "tuber"),
  struck: inOut("Took cuttings from", "cutting"),
  rooted: inOut("Rooted", "pot_plant"),
  potted: inOut("Potted", "pot_plant"),
  curing_started: lotsOf(() => "Laid out to dry"),
  curing_ended: lotsOf(() => capital(w.cured)),
  counted: (body, state) =>
    `Counted ${lotName(state, str(body["lot"]))}: ${body["about"] === true ? "~" : ""}${figure(body["count"])}${noted(body)}`,
  found: (body, state) =>
    `Found ${body["about"] === true ? "~" : ""}${amount(body["count"], str(body["unit"]))} of ${varietyName(state, str(body["variety"]))}${str(body["container"]) ? ` in ${crate(state, body["container"])}` : ""}${noted(body)}`,
  bought: (body, state) =>
    `Bought ${amount(body["count"], str(body["unit"]))} of ${varietyName(state, str(body["variety"]))}${but(str(body["supplier"]), " from ")}${noted(body)}`,
  returned: (body, state) =>
    `Took back ${amount(body["count"], unitOfLot(state, body["lot"]))} of ${varietyOfLot(state, body["lot"])}${noted(body)}`,
  gone_out: (body, state) =>
    `${w.ways[str(body["how"])] ?? "Went out"}: ${amount(body["count"], unitOfLot(state, body["lot"]))} of ${lotName(state, str(body["lot"]))}${noted(body)}`,
  promised: (body, state) =>
    `Promised ${figure(body["count"])} of ${str(body["lot"]) ? lotName(state, str(body["lot"])) : varietyName(state, str(body["variety"]))}`,
  emptied: (body, state) => `Emptied ${crate(state, body["crate"])}${noted(body)}`,
  planted: (body, state) =>
    `Planted ${lines(body["from"]).length ? takenSay(state, lines(body["from"])) : varietyName(state, str(body["variety"]))}${but(str(body["bed"]), " in bed ")}${but(str(body["row"]), " row ")}`,
  labelled: (body, state) =>
    `Gave the label ${spaced(str(body["code"]))} to ${body["target"] === "crate" ? crate(state, body["id"]) : body["target"] === "lot" ? lotName(state, str(body["id"])) : `a ${str(body["target"])}`}`,
  printed: (body) => `Printed ${Array.isArray(body["codes"]) && body["codes"].length === 1 ? "1 label" : `${Array.isArray(body["codes"]) ? body["codes"].length : 0} labels`}`,
  identified: (body, state) =>
    `Named ${str(body["lot"]) ? "a batch" : "a planting"} as ${varietyName(state, str(body["variety"]))}`,
  flagged: (body) => `Health: ${str(body["flag"])} ${str(body["state"])}${noted(body)}`,
  round_started: (body, state) => `Began a round in ${placeName(state, str(body["place"]))}`,
  round_ended: (body) =>
    `Ended a round${Array.isArray(body["not_seen"]) && body["not_seen"].length ? `, ${body["not_seen"].length} crates not seen` : ""}`,
  logged: (body, state) => `Took over a logger from ${placeName(state, str(body["place"])) || crate(state, body["crate"])}`,
  same_as: (body, state) =>
    `Said that two ${str(body["table"])} are one: ${text(state, str(body["table"]) as "varieties", str(body["into"]), "name")}`,
  emerged: ofPlanting("Counted what came up of"),
  rogued: ofPlanting("Took plants out of"),
  kept_in_ground: ofPlanting("Left in the ground"),
  marked: ofPlanting("Marked"),
  tended: ofPlanting("Tended"),
  stems_cut: ofPlanting("Cut stems of"),
  record_voided: (body) => `Undid an entry${but(str(body["why"]), ": ")}`,
  record_corrected: (body) => `Corrected an entry${but(str(body["why"]), ": ")}`,
  problem_accepted: (body) => `Left something that doesn't add up as it is${but(str(body["why"]), ": ")}`,
  held_resolved: (body) =>
    `${body["decision"] === "accept" ? "Accepted" : "Left aside"} an entry that was set aside${but(str(body["why"]), ": ")}`,
  record_reclassified: () => "The farm's computer read a kept entry anew",
};

/** One sentence without its full stop; never empty, whatever the body holds. */
export function entrySays(entry: { kind: string; body: unknown }, state: StockState): string {
  const body = typeof entry.body === "object" && entry.body !== null ? (entry.body as Body) : {};
  const sayer = SAYERS[entry.kind];
  if (!sayer) return entry.kind ? `An entry of a sort this app does not know (${entry.kind})` : "An entry that cannot be read";
  return sayer(body, state);
}

/** What an entry says and, for an undo or a correction, of which entry. */
export function entrySaysFully(
  entry: { kind: string; body: Record<string, unknown> },
  state: StockState,
  find: (sha: string) => { kind: string; body: Record<string, unknown> } | undefined,
): string {
  const said = entrySays(entry, state);
  if (entry.kind !== "record_voided" && entry.kind !== "record_corrected" && entry.kind !== "held_resolved") return said;
  const target = find(str(entry.body["target"]));
  if (!target) return said;
  // An undo that was undone: the entry behind it counts again.
  const behind = entry.kind === "record_voided" && target.kind === "record_voided" ? find(str(target.body["target"])) : undefined;
  if (behind) return `Counts again: ${lower(entrySays(behind, state))}`;
  const verb = { record_voided: "Undid", record_corrected: "Corrected", held_resolved: said }[entry.kind];
  return `${verb}: ${lower(entrySays(target, state))}`;
}
