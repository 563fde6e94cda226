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

/** Every change of a crate's place or position, in order. */
export function standings(crate: string, acts: readonly Act[]): Standing[] {
  const found: Standing[] = [];
  let place = "";
  let position = "";
  for (const { kind, body, key, on } of acts) {
    if ((kind !== "packed" && kind !== "moved") || body.crate !== crate) continue;
    const newPlace: string = body.place ?? place;
    const newPosition: string = body.position ?? (newPlace === place ? position : "");
    if (newPlace === place && newPosition === position) continue;
    place = newPlace;
    position = newPosition;
    found.push({ since: key, on, place, position });
  }
  return found;
}

export interface Packing {
  method: string;
  moisture: string;
  on: string;
}

/** The crate's last packing before a key. */
export function packingBefore(crate: string, acts: readonly Act[], key: OrderKey): Packing | null {
  let last: Packing | null = null;
  for (const act of acts) {
    if (compareKeys(act.key, key) >= 0) break;
    const { body } = act;
    if (act.kind === "packed" && body.crate === crate) {
      last = { method: body.method ?? "", moisture: body.moisture ?? "", on: act.on };
    }
  }
  return last;
}

/** The crate as it stands after all its entries. Dates "" where nothing happened yet. */
export function cratePage(crate: string, acts: readonly Act[], code: string, lots: string[]): Crate {
  const page: Crate = {
    place: "", position: "", since: "", method: "", moisture: "", mass_g: -1,
    packed_on: "", packed_by: "", lots: [...lots].sort(), looked_on: "", look: "", looked_by: "",
    look_again_on: "", code, emptied_on: "",
  };
  for (const act of acts) {
    if (act.kind === "packed") readPacked(page, act);
    else if (act.kind === "checked") readChecked(page, act);
    else if (act.kind === "emptied") page.emptied_on = act.on;
  }
  const last = standings(crate, acts).at(-1);
  if (last) Object.assign(page, { place: last.place, position: last.position, since: last.on });
  return page;
}

function readPacked(page: Crate, { body, on, sha256 }: Act): void {
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
