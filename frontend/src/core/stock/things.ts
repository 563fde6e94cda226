/** What an entry can be about, as one text: the sort, a space, the id. */
import { codes, touched, births } from "./facts.ts";
import { lotLines, type Act } from "./acts.ts";

export type Thing = string;

export const SAME: Thing = "same_as ";
export const ORDERS: Thing = "orders ";

export function thingOf(sort: string, key: string): Thing {
  return `${sort} ${key}`;
}

export function partsOf(thing: Thing): [sort: string, key: string] {
  const at = thing.indexOf(" ");
  return [thing.slice(0, at), thing.slice(at + 1)];
}

const OF_A_ROUND = new Set(["round_started", "round_ended", "checked"]);

/** Everything an entry is about. */
export function thingsOf(act: Act): Set<Thing> {
  const { body, kind } = act;
  const named = touched(act);
  const things = new Set<Thing>();
  for (const lot of named.lots) things.add(thingOf("lot", lot));
  for (const crate of named.crates) things.add(thingOf("crate", crate));
  for (const planting of named.plantings) things.add(thingOf("planting", planting));
  for (const { code } of codes(act)) things.add(thingOf("code", code));
  if (kind === "checked" && body.crate === undefined) things.add(thingOf("code", body.code ?? ""));
  if (OF_A_ROUND.has(kind) && body.round !== undefined) things.add(thingOf("round", body.round));
  if (kind === "field_set") things.add(thingOf(`row:${body.table ?? ""}`, body.row ?? ""));
  if (kind === "same_as") things.add(SAME);
  if (kind === "promised" || (kind === "gone_out" && body.order !== undefined)) things.add(ORDERS);
  return things;
}

/** (older, newer) for each thing that takes over something from another. */
export function kinshipOf(act: Act): [Thing, Thing][] {
  const { body, kind } = act;
  const kin: [Thing, Thing][] = [];
  for (const { lot, parents, planting } of births(act)) {
    const child = thingOf("lot", lot);
    for (const parent of parents) kin.push([thingOf("lot", parent), child]);
    if (planting !== "") kin.push([thingOf("planting", planting), child]);
  }
  if (kind === "packed") {
    for (const into of lotLines(body)) {
      for (const line of body.from ?? []) kin.push([thingOf("lot", line.lot), thingOf("lot", into.lot)]);
    }
  }
  if (kind === "planted") {
    const child = thingOf("planting", body.planting ?? "");
    for (const line of body.from ?? []) kin.push([thingOf("lot", line.lot), child]);
    if (body.from_planting !== undefined) kin.push([thingOf("planting", body.from_planting), child]);
  }
  return kin;
}
