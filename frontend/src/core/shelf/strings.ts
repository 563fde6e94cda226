/**
 * Texts as bytes, each once: ids and hashes take half of their length or less, and a text is
 * found by its own hash without making any other text.
 */

const UUID_TAIL = /^([^\u0100-\uffff]*)([0-9a-f]{8})-([0-9a-f]{4})-([0-9a-f]{4})-([0-9a-f]{4})-([0-9a-f]{12})$/;
const HASH_TAIL = /^([^\u0100-\uffff]*)([0-9a-f]{64})$/;
const WIDE = /[\u0100-\uffff]/;

const enum Form {
  Latin = 0,
  Wide = 1,
  Uuid = 2,
  Hash = 3,
}

/** A number of 32 bits for a text; equal for equal texts. FNV-1a over its UTF-16 units. */
export function hashOf(text: string): number {
  let hash = 0x811c9dc5;
  for (let i = 0; i < text.length; i += 1) hash = Math.imul(hash ^ text.charCodeAt(i), 0x01000193);
  return hash >>> 0;
}

/** Texts in the order they were first met, as they lie in a segment. */
export interface PackedTexts {
  bytes: Uint8Array;
  /** Where each begins, and the end of the last. */
  starts: Uint32Array;
  /** Open addressing by hash: number of the text plus one, or 0. Its length is a power of two. */
  slots: Uint32Array;
  /** The hash of each, so that another text need not be made to see that it is another. */
  hashes: Uint32Array;
}

export class TextWriter {
  private bytes = new Uint8Array(4096);
  private length = 0;
  private readonly starts: number[] = [0];
  private readonly known = new Map<string, number>();

  /** The number of a text, new or known. */
  number(text: string): number {
    const known = this.known.get(text);
    if (known !== undefined) return known;
    const number = this.starts.length - 1;
    this.known.set(text, number);
    this.put(text);
    this.starts.push(this.length);
    return number;
  }

  packed(): PackedTexts {
    let size = 2;
    while (size < this.known.size * 2) size *= 2;
    const slots = new Uint32Array(size);
    const hashes = new Uint32Array(this.known.size);
    for (const [text, number] of this.known) {
      hashes[number] = hashOf(text);
      let at = (hashes[number] ?? 0) & (size - 1);
      while (slots[at] !== 0) at = (at + 1) & (size - 1);
      slots[at] = number + 1;
    }
    return { bytes: this.bytes.slice(0, this.length), starts: Uint32Array.from(this.starts), slots, hashes };
  }

  private put(text: string): void {
    const { length } = text;
    const dashed = length >= 36 && text[length - 13] === "-" && text[length - 18] === "-";
    const uuid = dashed ? UUID_TAIL.exec(text) : null;
    if (uuid) return this.tail(Form.Uuid, uuid[1] ?? "", uuid.slice(2).join(""));
    const hash = length >= 64 ? HASH_TAIL.exec(text) : null;
    if (hash) return this.tail(Form.Hash, hash[1] ?? "", hash[2] ?? "");
    const wide = WIDE.test(text);
    const at = this.grow(1 + length * (wide ? 2 : 1));
    this.bytes[at] = wide ? Form.Wide : Form.Latin;
    for (let i = 0; i < length; i += 1) {
      const unit = text.charCodeAt(i);
      if (!wide) this.bytes[at + 1 + i] = unit;
      else {
        this.bytes[at + 1 + 2 * i] = unit >> 8;
        this.bytes[at + 2 + 2 * i] = unit & 0xff;
      }
    }
  }

  private tail(form: Form, prefix: string, hex: string): void {
    let at = this.grow(1 + prefix.length + hex.length / 2);
    this.bytes[at] = form;
    for (let i = 0; i < prefix.length; i += 1) this.bytes[(at += 1)] = prefix.charCodeAt(i);
    for (let i = 0; i < hex.length; i += 2) this.bytes[(at += 1)] = parseInt(hex.slice(i, i + 2), 16);
  }

  private grow(by: number): number {
    const at = this.length;
    this.length += by;
    if (this.length > this.bytes.length) {
      const larger = new Uint8Array(Math.max(this.length, this.bytes.length * 2));
      larger.set(this.bytes);
      this.bytes = larger;
    }
    return at;
  }
}

const HEX = Array.from({ length: 256 }, (_, byte) => byte.toString(16).padStart(2, "0"));

export class TextReader {
  private readonly made = new Map<number, string>();

  constructor(private readonly texts: PackedTexts) {}

  get count(): number {
    return this.texts.starts.length - 1;
  }

  /** The number of a text whose hash is given, or -1. */
  find(text: string, hash: number): number {
    const { slots, hashes } = this.texts;
    const mask = slots.length - 1;
    for (let at = hash & mask; slots[at] !== 0; at = (at + 1) & mask) {
      const number = (slots[at] ?? 0) - 1;
      if (hashes[number] === hash && this.text(number) === text) return number;
    }
    return -1;
  }

  text(number: number): string {
    let text = this.made.get(number);
    if (text === undefined) this.made.set(number, (text = this.read(number)));
    return text;
  }

  /** Lets go of the texts that were made so far. */
  forget(): void {
    this.made.clear();
  }

  private read(number: number): string {
    const { bytes, starts } = this.texts;
    const start = starts[number] ?? 0;
    const end = starts[number + 1] ?? start;
    const form: Form = bytes[start] ?? 0;
    if (form === Form.Uuid) {
      const at = end - 16;
      const hex = (from: number, to: number): string => this.hex(at + from, at + to);
      return `${this.latin(start + 1, at)}${hex(0, 4)}-${hex(4, 6)}-${hex(6, 8)}-${hex(8, 10)}-${hex(10, 16)}`;
    }
    if (form === Form.Hash) return this.latin(start + 1, end - 32) + this.hex(end - 32, end);
    if (form === Form.Latin) return this.latin(start + 1, end);
    let text = "";
    for (let at = start + 1; at < end; at += 2) text += String.fromCharCode(((bytes[at] ?? 0) << 8) | (bytes[at + 1] ?? 0));
    return text;
  }

  private latin(from: number, to: number): string {
    let text = "";
    for (let at = from; at < to; at += 1) text += String.fromCharCode(this.texts.bytes[at] ?? 0);
    return text;
  }

  private hex(from: number, to: number): string {
    let text = "";
    for (let at = from; at < to; at += 1) text += HEX[this.texts.bytes[at] ?? 0];
    return text;
  }
}
