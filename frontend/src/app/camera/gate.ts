/** Which readings of the camera count. */
export const SAME_CODE_MS = 3000;

/** Lets a text through once, and again only when it was out of sight for 3 s. */
export class Gate {
  #last = new Map<string, number>();
  #taken = "";

  passes(text: string, atMs: number): boolean {
    const before = this.#last.get(text);
    this.#last.set(text, atMs);
    const passes = before === undefined || atMs - before >= SAME_CODE_MS;
    if (passes) this.#taken = text;
    return passes;
  }
  /** Nobody looks just now: the code taken last counts as in sight, so that it does not come back at once. */
  rest(atMs: number): void {
    if (this.#taken) this.#last.set(this.#taken, atMs);
  }
  /** The next sight of any code counts again. */
  forget(): void {
    this.#last.clear();
  }
}

/** The middle of a frame: x, y, width, height of 70 % of each side. */
export function middle(width: number, height: number): [number, number, number, number] {
  const w = Math.round(width * 0.7);
  const h = Math.round(height * 0.7);
  return [Math.round((width - w) / 2), Math.round((height - h) / 2), w, h];
}
