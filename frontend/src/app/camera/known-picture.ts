/** A QR code of level Q that says 0000000S, one number a row: what a browser's own decoder must read first. */
const ROWS = [
  0x1fda7f, 0x104141, 0x174e5d, 0x17475d, 0x17515d, 0x105b41, 0x1fd57f, 0x000c00, 0x0fec31, 0x1c3724, 0x0fc294,
  0x1fa434, 0x194594, 0x0018e4, 0x1fd064, 0x1052e4, 0x175726, 0x175d34, 0x175294, 0x105c25, 0x1fcaa4,
];
export const KNOWN_TEXT = "0000000S";
const SIDE = 21;
const QUIET = 4;

/** RGBA of the picture, `scale` pixels a module; black on white with its quiet zone. */
export function knownPicture(scale: number): { width: number; pixels: Uint8ClampedArray<ArrayBuffer> } {
  const width = (SIDE + 2 * QUIET) * scale;
  const pixels = new Uint8ClampedArray(width * width * 4).fill(255);
  for (let y = 0; y < SIDE * scale; y += 1) {
    for (let x = 0; x < SIDE * scale; x += 1) {
      const row = ROWS[Math.floor(y / scale)] ?? 0;
      if (!((row >> (SIDE - 1 - Math.floor(x / scale))) & 1)) continue;
      pixels.fill(0, ((y + QUIET * scale) * width + x + QUIET * scale) * 4, ((y + QUIET * scale) * width + x + QUIET * scale) * 4 + 3);
    }
  }
  return { width, pixels };
}
