/** How long to wait before another try. Pure. */

/** "40 seconds", "2 minutes", "1 hour"; rounded up, so that the try then made is let through. */
export function waitFor(seconds: number): string {
  const many = (n: number, one: string): string => `${n} ${one}${n === 1 ? "" : "s"}`;
  if (seconds < 60) return many(Math.max(1, Math.ceil(seconds)), "second");
  if (seconds < 3600) return many(Math.ceil(seconds / 60), "minute");
  return many(Math.ceil(seconds / 3600), "hour");
}

export const tooManyTries = (seconds: number): string =>
  seconds > 0 ? `Too many tries. Wait ${waitFor(seconds)}, then try again.` : "Now it can be tried again.";
