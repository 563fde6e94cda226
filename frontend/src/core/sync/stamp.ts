/** [ms, counter]: a hybrid logical clock, so that who has seen an edit beats it. */
export type Stamp = readonly [number, number];

export const NO_STAMP: Stamp = [0, 0];

export function compareStamps(a: Stamp, b: Stamp): number {
  return a[0] - b[0] || a[1] - b[1];
}

/** Later than `last` and not before the wall clock. */
export function nextStamp(last: Stamp, wallMs: number): Stamp {
  return wallMs > last[0] ? [wallMs, 0] : [last[0], last[1] + 1];
}

/** The clock after a stamp of somebody else was seen. */
export function afterSeeing(last: Stamp, seen: Stamp): Stamp {
  return compareStamps(seen, last) > 0 ? seen : last;
}
