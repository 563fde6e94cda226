/** A crate as its own entries tell it: where it stands, how it was packed, when it was looked at. */
import type { Act } from "./acts.ts";
import { compareKeys, type OrderKey } from "./entries.ts";
import type { Crate } from "./state.ts";

/** A crate stands somewhere from a key on. */
export interface Standing {
  since: OrderKey;
  on: string;
  place: string;
  position: string;
}

export interface Packing {
  since: OrderKey;
  method: string;
  moisture: string;
  on: string;
}

/** An entry by which a crate was written down as emptied. */
export interface Emptying {
  sha256: string;
  key: OrderKey;
  crate: string;
}

/** What some first entries of a crate tell of it, so that the later ones can be read on from there. */
export interface CrateStory {
  /** How many entries it tells, and the place of the last of them. */
  count: number;
  upTo: OrderKey | null;
  /** The page but for `lots` and `code`. */
  page: Crate;
  standings: Standing[];
  packings: Packing[];
  emptyings: Emptying[];
}

const NOT_YET: Crate = {
  place: "", position: "", since: "", method: "", moisture: "", mass_g: -1,
  packed_on: "", packed_by: "", lots: [], looked_on: "", look: "", looked_by: "",
  look_again_on: "", code: "", emptied_on: "",
};

/** The story with further entries, which come after those it tells. */
export function toldOn(crate: string, story: CrateStory | undefined, acts: readonly Act[]): CrateStory {
  const told: CrateStory = {
    count: (story?.count ?? 0) + acts.length,
    upTo: acts.at(-1)?.key ?? story?.upTo ?? null,
    page: { ...(story?.page ?? NOT_YET) },
    standings: [...(story?.standings ?? [])],
    packings: [...(story?.packings ?? [])],
    emptyings: [...(story?.emptyings ?? [])],
  };
  for (const act of acts) {
    readStanding(crate, told, act);
    if (act.kind === "packed") readPacked(crate, told, act);
    else if (act.kind === "checked") readChecked(told.page, act);
    else if (act.kind === "emptied") {
      told.page.emptied_on = act.on;
      told.emptyings.push({ sha256: act.sha256, key: act.key, crate: act.body.crate ?? "" });
    }
  }
  return told;
}

function readStanding(crate: string, { page, standings }: CrateStory, { kind, body, key, on }: Act): void {
  if ((kind !== "packed" && kind !== "moved") || body.crate !== crate) return;
  const place = body.place ?? page.place;
  const position = body.position ?? (place === page.place ? page.position : "");
  if (place === page.place && position === page.position) return;
  Object.assign(page, { place, position, since: on });
  standings.push({ since: key, on, place, position });
}

function readPacked(crate: string, { page, packings }: CrateStory, { body, key, on, sha256 }: Act): void {
  if (body.crate === crate) packings.push({ since: key, method: body.method ?? "", moisture: body.moisture ?? "", on });
  const again = page.emptied_on !== "" || page.packed_on === "";
  page.method = body.method ?? (again ? "" : page.method);
  page.moisture = body.moisture ?? (again ? "" : page.moisture);
  page.packed_on = on;
  page.packed_by = sha256;
  page.emptied_on = "";
  page.mass_g = body.mass_g ?? (again ? -1 : page.mass_g);
  if (again) Object.assign(page, { looked_on: "", look: "", looked_by: "", look_again_on: "" });
}

function readChecked(page: Crate, { body, on, sha256 }: Act): void {
  page.looked_on = on;
  page.look = body.look ?? "";
  page.looked_by = sha256;
  page.look_again_on = body.look_again_on ?? "";
  page.mass_g = body.mass_g ?? page.mass_g;
}

/** The crate's last packing before a key. */
export function packingBefore({ packings }: CrateStory, key: OrderKey): Packing | null {
  return packings.findLast((one) => compareKeys(one.since, key) < 0) ?? null;
}

/** The crate as it stands after all its entries. Dates "" where nothing happened yet. */
export function cratePage({ page }: CrateStory, code: string, lots: readonly string[]): Crate {
  return { ...page, code, lots: [...lots].sort() };
}
