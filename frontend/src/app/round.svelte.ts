/** The round under way on this phone: kept over a reload, shown in the strip, pointed at by every check. */
import type { Look } from "./looks.ts";
import { here } from "./session.svelte.ts";

export interface RoundNow {
  round: string;
  place: string;
  look: Look;
  started_on: string;
  started_at: number;
  /** What was measured at the start; null was not. */
  temp_c: number | null;
  rh_pct: number | null;
  /** Crates already looked at, in order. */
  seen: string[];
}

const KEY = "round";
let now = $state.raw<RoundNow | null>(null);

export const round = {
  get now(): RoundNow | null {
    return now;
  },
};

export async function loadRound(): Promise<void> {
  now = here.ready ? ((await here.session.kept<RoundNow | null>(KEY)) ?? null) : null;
}

export async function setRound(next: RoundNow | null): Promise<void> {
  now = next;
  await here.session.keep(KEY, next);
}

export async function sawCrate(crate: string): Promise<void> {
  if (now && !now.seen.includes(crate)) await setRound({ ...now, seen: [...now.seen, crate] });
}

/** An undone check leaves its crate to be seen. */
export async function unseeCrate(crate: string): Promise<void> {
  if (now?.seen.includes(crate)) await setRound({ ...now, seen: now.seen.filter((one) => one !== crate) });
}
