/** A scanner that acts as a keyboard types a code faster than hands can, and ends with Enter. */
const LEAST_KEYS = 6;
const FAST_GAP_MS = 35;

export class Burst {
  #typed = "";
  #slow = false;
  #last = -Infinity;

  /** The whole text when this key ends a burst; null otherwise. */
  key(key: string, atMs: number): string | null {
    const gap = atMs - this.#last;
    this.#last = atMs;
    if (key === "Enter") {
      const text = !this.#slow && gap <= FAST_GAP_MS * 3 && this.#typed.length >= LEAST_KEYS ? this.#typed : null;
      this.#typed = "";
      this.#slow = false;
      return text;
    }
    if (key.length !== 1) return null;
    if (gap > FAST_GAP_MS * 3) {
      this.#typed = "";
      this.#slow = false;
    } else if (gap > FAST_GAP_MS) this.#slow = true;
    this.#typed += key;
    return null;
  }
}
