/** Counts as five-bar gates: where each stroke stands and whether it crosses. */
export interface Stroke {
  x: number;
  crossing: boolean;
  /** Which of the struck groups it belongs to; -1 is still there. */
  group: number;
}

export const STEP = 7;
export const GATE = 4 * STEP + 12;

/** Strokes for `left` things still there, then `struck[i]` of each group; one a thing. */
export function tallyStrokes(left: number, struck: readonly number[]): Stroke[] {
  const groups = [
    ...Array.from({ length: left }, () => -1),
    ...struck.flatMap((n, index) => Array.from({ length: n }, () => index)),
  ];
  return groups.map((group, index) => {
    const within = index % 5;
    const gate = Math.floor(index / 5) * GATE;
    return { x: gate + (within === 4 ? 0 : within * STEP), crossing: within === 4, group };
  });
}
