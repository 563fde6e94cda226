/** What a lot or planting is: stated by itself, or by the nearest it comes from. */
import type { ActIndex } from "./act-index.ts";
import { births } from "./facts.ts";
import { partsOf, thingOf, type Thing } from "./things.ts";

export const UNKNOWN = "unknown";

/** What was identified or stated of the thing, or of the nearest it comes from. */
export function varietyOf(index: ActIndex, sort: string, key: string): string {
  const seen = new Set<Thing>();
  const todo = [thingOf(sort, key)];
  for (let thing = todo.pop(); thing !== undefined; thing = todo.pop()) {
    if (seen.has(thing)) continue;
    seen.add(thing);
    const { variety, parents } = statedOf(index, thing);
    if (variety !== "" && variety !== UNKNOWN) return variety;
    todo.push(...parents.reverse());
  }
  return UNKNOWN;
}

function statedOf(index: ActIndex, thing: Thing): { variety: string; parents: Thing[] } {
  const [sort, key] = partsOf(thing);
  const parents: Thing[] = [];
  let identified = "";
  let stated = "";
  for (const act of index.ofThing(thing)) {
    const { body, kind } = act;
    if (kind === "identified" && (sort === "lot" ? body.lot : body.planting) === key) {
      identified = body.variety ?? "";
    } else if (sort === "planting" && kind === "planted" && body.planting === key) {
      stated = knownOr(stated, body.variety ?? "");
      for (const line of body.from ?? []) parents.push(thingOf("lot", line.lot));
      if (body.from_planting !== undefined) parents.push(thingOf("planting", body.from_planting));
    } else if (sort === "lot") {
      for (const birth of births(act)) {
        if (birth.lot !== key) continue;
        stated = knownOr(stated, birth.variety);
        if (birth.planting !== "") parents.push(thingOf("planting", birth.planting));
        for (const lot of birth.parents) parents.push(thingOf("lot", lot));
      }
    }
  }
  return { variety: identified || stated, parents };
}

function knownOr(stated: string, now: string): string {
  return (stated === "" || stated === UNKNOWN) && now !== "" ? now : stated;
}

/** The unit stated when the lot came into being, or that of the nearest it comes from. */
export function unitOf(index: ActIndex, lot: string): string {
  const seen = new Set<string>();
  const todo = [lot];
  for (let one = todo.pop(); one !== undefined; one = todo.pop()) {
    if (seen.has(one)) continue;
    seen.add(one);
    const key = one;
    const born = index.of("lot", key).flatMap((act) => births(act).filter((birth) => birth.lot === key));
    const stated = born.find((birth) => birth.unit !== "")?.unit;
    if (stated !== undefined) return stated;
    todo.push(...born.flatMap((birth) => birth.parents).reverse());
  }
  return "tuber";
}
