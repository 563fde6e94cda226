/** A newer build that waits. It takes over from the Phone page, or while nobody is there; never in mid-work. */
import { openCheck } from "./open.svelte.ts";
import { round } from "./round.svelte.ts";
import { registerServiceWorker } from "./service-worker.ts";

let takeOver = $state.raw<(() => Promise<void>) | null>(null);

export const updates = {
  get waiting(): boolean {
    return takeOver !== null;
  },
};

const IDLE_MS = 600_000;
const LOOK_MS = 60_000;
/** Pages on which nothing can be half typed. */
const RESTFUL = new Set(["/todo", "/scan", "/stock", "/results"]);

/** True when a reload would interrupt nobody: ten idle minutes, out of sight, nothing open, no round. */
export function mayTakeOver(now: { idleMs: number; hidden: boolean; path: string; drawer: boolean; round: boolean }): boolean {
  return now.idleMs >= IDLE_MS && now.hidden && RESTFUL.has(now.path) && !now.drawer && !now.round;
}

export function startUpdates(): void {
  registerServiceWorker((take) => (takeOver = take));
  let touched = Date.now();
  for (const sign of ["pointerdown", "keydown"]) addEventListener(sign, () => (touched = Date.now()), { passive: true });
  setInterval(() => {
    const now = {
      idleMs: Date.now() - touched,
      hidden: document.visibilityState === "hidden",
      path: location.pathname,
      drawer: openCheck.current !== null,
      round: round.now !== null,
    };
    if (takeOver && mayTakeOver(now)) void useUpdate();
  }, LOOK_MS);
}

/** Lets the newer build take over and loads the page again. */
export async function useUpdate(): Promise<void> {
  if (!takeOver) return;
  await takeOver();
  location.reload();
}
