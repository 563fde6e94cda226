/** What the browser says about the room it gives and whether it promised to keep it. */
export interface Room {
  locked: boolean | null;
  usedBytes: number | null;
  quotaBytes: number | null;
}

export async function askRoom(): Promise<Room> {
  const storage = navigator.storage as StorageManager | undefined;
  const estimate = await storage?.estimate?.().catch(() => undefined);
  const locked = (await storage?.persisted?.().catch(() => undefined)) ?? null;
  return { locked, usedBytes: estimate?.usage ?? null, quotaBytes: estimate?.quota ?? null };
}

/** "12 MB", "340 kB" */
export function bytes(n: number): string {
  return n >= 1e9 ? `${(n / 1e9).toFixed(1)} GB` : n >= 1e6 ? `${Math.round(n / 1e6)} MB` : `${Math.max(1, Math.round(n / 1e3))} kB`;
}
