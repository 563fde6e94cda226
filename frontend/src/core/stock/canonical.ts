/** The one JSON text of a state: keys in order of code points, no spaces, only ASCII. */

export function canonical(value: unknown): string {
  if (typeof value === "string") return text(value);
  if (value === null || typeof value === "number" || typeof value === "boolean") return JSON.stringify(value);
  if (Array.isArray(value)) return `[${value.map(canonical).join(",")}]`;
  const fields = Object.entries(value as object).sort(([a], [b]) => compareCodePoints(a, b));
  return `{${fields.map(([name, part]) => `${text(name)}:${canonical(part)}`).join(",")}}`;
}

function text(value: string): string {
  // All but the printable part of ASCII; JSON.stringify has done what lies below the space.
  return JSON.stringify(value).replace(/[\u007f-\uffff]/g, escaped);
}

function escaped(char: string): string {
  return `\\u${char.charCodeAt(0).toString(16).padStart(4, "0")}`;
}

/** JavaScript compares UTF-16 units, which differs above U+FFFF. */
function compareCodePoints(a: string, b: string): number {
  const length = Math.min(a.length, b.length);
  for (let i = 0; i < length; i += 1) {
    if (a.charCodeAt(i) === b.charCodeAt(i)) continue;
    return weight(a.charCodeAt(i)) - weight(b.charCodeAt(i));
  }
  return a.length - b.length;
}

/** Surrogates stand for code points above all others. */
function weight(unit: number): number {
  return unit >= 0xd800 && unit <= 0xdfff ? unit + 0x10000 : unit;
}
