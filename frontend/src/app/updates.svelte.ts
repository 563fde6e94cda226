/** A newer build that waits. It takes over from the Phone page only, never by itself in mid-work. */
import { registerServiceWorker } from "./service-worker.ts";

let takeOver = $state.raw<(() => Promise<void>) | null>(null);

export const updates = {
  get waiting(): boolean {
    return takeOver !== null;
  },
  get drawerOpen(): boolean {
    return document.documentElement.dataset["drawer"] === "open";
  },
};

export function startUpdates(): void {
  registerServiceWorker((take) => (takeOver = take));
}

/** Lets the newer build take over and loads the page again. */
export async function useUpdate(): Promise<void> {
  if (!takeOver) return;
  await takeOver();
  location.reload();
}
