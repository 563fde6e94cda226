/** Makes a dim or soft picture easier to read: grey, stretched to full contrast, edges drawn sharper. */

const CLIPPED = 0.02;
const RADIUS = 4;
const STRENGTH = 3;

/** Luma of RGBA bytes, one byte a pixel. */
export function toGrey(rgba: Uint8ClampedArray): Uint8ClampedArray {
  const grey = new Uint8ClampedArray(rgba.length / 4);
  for (let i = 0; i < grey.length; i += 1) {
    const at = i * 4;
    grey[i] = ((rgba[at] ?? 0) * 77 + (rgba[at + 1] ?? 0) * 150 + (rgba[at + 2] ?? 0) * 29) >> 8;
  }
  return grey;
}

/** The same picture with its darkest and lightest 2 % at black and white. */
export function stretch(grey: Uint8ClampedArray): Uint8ClampedArray {
  const counts = new Uint32Array(256);
  for (const value of grey) counts[value] = (counts[value] ?? 0) + 1;
  const wanted = grey.length * CLIPPED;
  const edge = (order: number[]): number => {
    let seen = 0;
    for (const value of order) {
      seen += counts[value] ?? 0;
      if (seen > wanted) return value;
    }
    return order.at(-1) ?? 0;
  };
  const up = Array.from({ length: 256 }, (_, i) => i);
  const low = edge(up);
  const high = edge([...up].reverse());
  if (high <= low) return grey.slice();
  const scale = 255 / (high - low);
  return grey.map((value) => (value - low) * scale);
}

function blurLine(from: Float32Array, to: Float32Array, start: number, step: number, length: number): void {
  let total = 0;
  const at = (i: number) => from[start + Math.min(Math.max(i, 0), length - 1) * step] ?? 0;
  for (let i = -RADIUS; i <= RADIUS; i += 1) total += at(i);
  for (let i = 0; i < length; i += 1) {
    to[start + i * step] = total / (2 * RADIUS + 1);
    total += at(i + RADIUS + 1) - at(i - RADIUS);
  }
}

/** Unsharp mask by a box blur: what differs from its surroundings differs more. */
export function sharpen(grey: Uint8ClampedArray, width: number, height: number): Uint8ClampedArray {
  const across = new Float32Array(grey.length);
  const blurred = new Float32Array(grey.length);
  const plain = Float32Array.from(grey);
  for (let y = 0; y < height; y += 1) blurLine(plain, across, y * width, 1, width);
  for (let x = 0; x < width; x += 1) blurLine(across, blurred, x, width, height);
  return grey.map((value, i) => value + STRENGTH * (value - (blurred[i] ?? value)));
}

/** RGBA in, RGBA out. */
export function clearer(rgba: Uint8ClampedArray, width: number, height: number): Uint8ClampedArray<ArrayBuffer> {
  const grey = sharpen(stretch(toGrey(rgba)), width, height);
  const out = new Uint8ClampedArray(rgba.length);
  for (let i = 0; i < grey.length; i += 1) {
    const value = grey[i] ?? 0;
    out.set([value, value, value, 255], i * 4);
  }
  return out;
}
