/** Names of the farm's phones, as last told by the farm's computer and kept for the cellar. */
import type { components } from "../sync/api-types.d.ts";
import { here } from "./session.svelte.ts";

export type Phone = components["schemas"]["Device"];

const KEY = "phones";
let known = $state.raw<Phone[]>([]);
let asked = "";

export const phones = {
  get list(): Phone[] {
    return known;
  },
};

/** Fetches the list when there is a network, else what was kept. Never rejects. */
export async function loadPhones(): Promise<void> {
  if (!here.ready) return;
  const session = here.session;
  if (asked !== session.farm.id) {
    asked = session.farm.id;
    known = (await session.kept<Phone[]>(KEY)) ?? [];
  }
  try {
    known = await session.api<Phone[]>("/api/devices/");
    await session.keep(KEY, known);
  } catch {
    return; // Without a network the kept names do.
  }
}

/** "this phone", "Greenhouse phone", or "another phone" when its name never came here. */
export function phoneName(device: string): string {
  if (here.ready && device === here.session.device.id) return "this phone";
  return known.find((phone) => phone.id === device)?.name ?? "another phone";
}
