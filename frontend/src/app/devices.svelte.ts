/** The farm's phones, as last told by the farm's computer and kept for the cellar. */
import type { Role } from "../core/stock/kinds.ts";
import { here } from "./session.svelte.ts";

export interface Phone {
  id: string;
  name: string;
  sort: "phone" | "browser" | "server" | "script";
  /** null: the farm's computer itself. */
  member: { id: string; name: string; role: Role } | null;
  created_at: string;
  last_heard_at: string | null;
  revoked_at: string | null;
  /** What it sends is set aside until an owner releases it. */
  quarantined: boolean;
  /** The version of the app it last told. */
  app: string;
  /** Entries it said it still held when it was last heard; null when it never said. */
  waiting: number | null;
  waiting_at: string | null;
  /** Entries that came from it. */
  records: number;
  highest_seq: number;
  /** Numbers of its own, below the highest, that never came: [from, to]. */
  missing: [number, number][];
}

const KEY = "phones";
let known = $state.raw<Phone[]>([]);
let asked = "";
let fetched = $state(false);

export const phones = {
  get list(): Phone[] {
    return known;
  },
  /** False while only what was kept on this phone is shown. */
  get fresh(): boolean {
    return fetched;
  },
  byId(id: string): Phone | undefined {
    return known.find((one) => one.id === id);
  },
};

/** Fetches the list when there is a network, else what was kept. Never rejects; false without an answer. */
export async function loadPhones(): Promise<boolean> {
  if (!here.ready) return false;
  const session = here.session;
  if (asked !== session.farm.id) {
    asked = session.farm.id;
    fetched = false;
    known = (await session.kept<Phone[]>(KEY)) ?? [];
  }
  try {
    known = await session.api<Phone[]>("/api/devices/");
    fetched = true;
    await session.keep(KEY, known);
    return true;
  } catch {
    fetched = false;
    return false; // Without a network the kept names do.
  }
}

/** "this phone", "Greenhouse phone", or "another phone" when its name never came here. */
export function phoneName(device: string): string {
  if (here.ready && device === here.session.device.id) return "this phone";
  return known.find((phone) => phone.id === device)?.name ?? "another phone";
}
