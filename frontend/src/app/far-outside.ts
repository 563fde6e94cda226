/** A temperature no store has, and what was probably meant: 61 was 6.1. Null when it may be right. */
export function slippedMark(c: number): number | null {
  if (c > -30 && c < 45) return null;
  const meant = c / 10;
  return meant > -30 && meant < 45 ? Math.round(meant * 10) / 10 : null;
}
