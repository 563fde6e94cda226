/**
 * Plain values as bytes: null, true, false, numbers, texts, lists and objects, as JSON has them.
 * Objects with the same fields in the same order share one shape, so names of fields are kept once.
 */
import { TextReader, TextWriter } from "./strings.ts";

const enum Tag {
  Null = 0,
  True = 1,
  False = 2,
  Whole = 3,
  Negative = 4,
  Float = 5,
  Text = 6,
  List = 7,
  Object = 8,
  /** An object without the keys that every object has. */
  Table = 9,
}

export class ValueWriter {
  readonly shapes: string[][] = [];
  private bytes = new Uint8Array(1 << 16);
  private length = 0;
  private readonly shapeNumbers = new Map<string, number>();

  constructor(private readonly texts: TextWriter) {}

  /** Where the value begins. */
  write(value: unknown): number {
    const at = this.length;
    this.put(value);
    return at;
  }

  packed(): Uint8Array {
    return this.bytes.slice(0, this.length);
  }

  private put(value: unknown): void {
    if (value === null || value === undefined) this.byte(Tag.Null);
    else if (value === true) this.byte(Tag.True);
    else if (value === false) this.byte(Tag.False);
    else if (typeof value === "number") this.number(value);
    else if (typeof value === "string") {
      this.byte(Tag.Text);
      this.varint(this.texts.number(value));
    } else if (Array.isArray(value)) {
      this.byte(Tag.List);
      this.varint(value.length);
      for (const one of value) this.put(one);
    } else this.object(value as Record<string, unknown>);
  }

  private number(value: number): void {
    if (Number.isSafeInteger(value) && !Object.is(value, -0)) {
      this.byte(value < 0 ? Tag.Negative : Tag.Whole);
      this.varint(Math.abs(value));
      return;
    }
    this.byte(Tag.Float);
    const at = this.grow(8);
    new DataView(this.bytes.buffer).setFloat64(at, value);
  }

  private object(value: Record<string, unknown>): void {
    const names = Object.keys(value).filter((name) => value[name] !== undefined);
    const key = JSON.stringify(names);
    let shape = this.shapeNumbers.get(key);
    if (shape === undefined) {
      shape = this.shapes.push(names) - 1;
      this.shapeNumbers.set(key, shape);
    }
    this.byte(Object.getPrototypeOf(value) === null ? Tag.Table : Tag.Object);
    this.varint(shape);
    for (const name of names) this.put(value[name]);
  }

  private byte(value: number): void {
    const at = this.grow(1); // may make `bytes` another one
    this.bytes[at] = value;
  }

  private varint(value: number): void {
    let rest = value;
    while (rest >= 0x80) {
      this.byte((rest % 0x80) | 0x80);
      rest = Math.floor(rest / 0x80);
    }
    this.byte(rest);
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

export class ValueReader {
  private at = 0;

  constructor(
    private readonly bytes: Uint8Array,
    private readonly shapes: readonly (readonly string[])[],
    private readonly texts: TextReader,
  ) {}

  read(at: number): unknown {
    this.at = at;
    return this.next();
  }

  private next(): unknown {
    const tag: Tag = this.bytes[this.at++] ?? 0;
    switch (tag) {
      case Tag.True:
        return true;
      case Tag.False:
        return false;
      case Tag.Whole:
        return this.varint();
      case Tag.Negative:
        return -this.varint();
      case Tag.Float: {
        const { buffer, byteOffset } = this.bytes;
        const value = new DataView(buffer, byteOffset).getFloat64(this.at);
        this.at += 8;
        return value;
      }
      case Tag.Text:
        return this.texts.text(this.varint());
      case Tag.List:
        return Array.from({ length: this.varint() }, () => this.next());
      case Tag.Object:
        return this.fields({});
      case Tag.Table:
        return this.fields(Object.create(null) as Record<string, unknown>);
      default:
        return null;
    }
  }

  private fields(into: Record<string, unknown>): Record<string, unknown> {
    for (const name of this.shapes[this.varint()] ?? []) {
      // Assigning "__proto__" would set the prototype instead of a field.
      if (name === "__proto__") {
        Object.defineProperty(into, name, { value: this.next(), writable: true, enumerable: true, configurable: true });
      } else into[name] = this.next();
    }
    return into;
  }

  private varint(): number {
    let value = 0;
    for (let unit = 1; ; unit *= 0x80) {
      const byte = this.bytes[this.at++] ?? 0;
      value += (byte & 0x7f) * unit;
      if (byte < 0x80) return value;
    }
  }
}
