/** Whether a body may be kept, and if not, why: in words for the person who typed it. */
import { Validator, type OutputUnit, type Schema } from "@cfworker/json-schema";
import { newestVersion, schemaOf } from "./schemas.ts";
import { EITHER_WORDS, fieldWords } from "./wording.ts";

export interface Refusal {
  /** Path in the body, steps joined by "/"; "" for the whole. */
  path: string;
  sentence: string;
}

const validators = new Map<string, Validator>();

function validatorOf(kind: string, v: number): Validator | null {
  const name = `${kind}.v${v}`;
  const known = validators.get(name);
  if (known) return known;
  const schema = schemaOf(kind, v);
  if (!schema) return null;
  const made = new Validator(schema, "7", false);
  validators.set(name, made);
  return made;
}

/** Empty when the body is fit to be kept; at most one refusal per field. */
export function refusals(kind: string, v: number, body: unknown): Refusal[] {
  const validator = validatorOf(kind, v);
  if (!validator) {
    const code = newestVersion(kind) === undefined ? "kind" : "version";
    return [{ path: "", sentence: `This app does not know that ${code} of entry yet. Update it first.` }];
  }
  const { valid, errors } = validator.validate(body);
  if (valid) return [];
  const schema = schemaOf(kind, v) ?? {};
  const found = new Map<string, Refusal>();
  for (const error of errors) {
    const refusal = refusalOf(kind, schema, body, error);
    if (refusal && !found.has(refusal.path)) found.set(refusal.path, refusal);
  }
  if (found.size > 0) return [...found.values()];
  return [{ path: "", sentence: "The entry is not complete. Look at each field again." }];
}

/** Keywords that only say that something inside them is wrong, or repeat it. */
const OUTER = new Set(["properties", "items", "additionalProperties", "anyOf", "not", "const", "false"]);

function refusalOf(kind: string, schema: Schema, body: unknown, error: OutputUnit): Refusal | null {
  const path = steps(error.instanceLocation);
  const node = schemaAt(schema, error.keywordLocation);
  if (error.keyword === "anyOf" && path.length === 0) {
    return { path: "", sentence: `${EITHER_WORDS[kind] ?? "Something is missing"}.` };
  }
  const insideEither = error.keywordLocation.includes("/anyOf/");
  if (error.keyword === "required" && !insideEither) {
    const missing = missingField(node, valueAt(body, path));
    const full = missing === "" ? path : [...path, missing];
    return { path: full.join("/"), sentence: `${fieldWords(kind, full)} is missing.` };
  }
  if (error.keyword === "anyOf") return { path: path.join("/"), sentence: choose(kind, path, node) };
  if (OUTER.has(error.keyword) && error.keyword !== "not") return null;
  if (insideEither || error.keywordLocation.includes("/propertyNames/")) return null;
  return { path: path.join("/"), sentence: sentenceFor(kind, path, node, error.keyword) };
}

function sentenceFor(kind: string, path: string[], node: Schema, keyword: string): string {
  const words = fieldWords(kind, path);
  switch (keyword) {
    case "type":
    case "minimum":
    case "maximum":
      return `${words} must be ${numberWords(node)}.`;
    case "enum":
      return `${words}: choose one of ${(node.enum ?? []).map(plain).join(", ")}.`;
    case "maxLength":
      return `${words} is too long: ${node.maxLength} characters at most.`;
    case "minItems":
      return `${words}: at least ${node.minItems} is needed.`;
    case "maxItems":
    case "maxProperties":
      return `${words}: ${node.maxItems ?? node.maxProperties} at most in one entry.`;
    case "pattern":
      return patternWords(words, node.pattern ?? "");
    case "propertyNames":
      return `${words}: a cause is written in small letters without spaces.`;
    case "not":
      return `${words}: this is set by packing, moving or labelling, not by hand.`;
    default:
      return `${words} cannot be kept like this. Look at it again.`;
  }
}

function numberWords(node: Schema): string {
  const { minimum, maximum } = node;
  switch (node.type) {
    case "integer":
    case "number": {
      const noun = node.type === "integer" ? "a whole number" : "a number";
      if (minimum === undefined) return noun;
      const top = maximum === undefined || maximum >= 1_000_000;
      return top ? `${noun}, ${minimum} or more${atMost(maximum)}` : `${noun} from ${minimum} to ${maximum}`;
    }
    case "boolean":
      return "yes or no";
    case "array":
      return "a list";
    case "string":
      return "a text";
    default:
      return "filled in";
  }
}

function atMost(maximum: number | undefined): string {
  return maximum === undefined || maximum > 1_000_000 ? "" : " (a million at most)";
}

function patternWords(words: string, pattern: string): string {
  if (pattern.includes("{12}")) return `${words}: choose one from the list.`;
  if (pattern.includes("{64}")) return `${words}: choose the entry from the list.`;
  if (pattern.includes("HJKMNP")) return `${words} must be the 8 letters and figures on the label.`;
  if (pattern.includes("[0-9]{4}-")) return `${words} must be a day, such as 2026-11-03.`;
  return `${words} is written in small letters without spaces.`;
}

function choose(kind: string, path: string[], node: Schema): string {
  const words = fieldWords(kind, path);
  const uuid = (node.anyOf ?? []).some((one) => (one.pattern ?? "").includes("{12}"));
  return uuid ? `${words}: choose one from the list, or leave it unknown.` : `${words} cannot be kept like this.`;
}

function plain(value: unknown): string {
  return String(value).replaceAll("_", " ");
}

function steps(pointer: string): string[] {
  return pointer
    .replace(/^#\/?/, "")
    .split("/")
    .filter((step) => step !== "")
    .map((step) => decodeURIComponent(step).replaceAll("~1", "/").replaceAll("~0", "~"));
}

/** The schema node that holds the keyword at `location`. */
function schemaAt(schema: Schema, location: string): Schema {
  let node: unknown = schema;
  for (const step of steps(location).slice(0, -1)) {
    if (typeof node !== "object" || node === null) return {};
    node = (node as Record<string, unknown>)[step];
  }
  return typeof node === "object" && node !== null && !Array.isArray(node) ? node : {};
}

function valueAt(body: unknown, path: string[]): unknown {
  let value = body;
  for (const step of path) {
    if (typeof value !== "object" || value === null) return undefined;
    value = (value as Record<string, unknown>)[step];
  }
  return value;
}

function missingField(node: Schema, value: unknown): string {
  const has = (name: string): boolean =>
    typeof value === "object" && value !== null && Object.hasOwn(value, name);
  return (node.required ?? []).find((name) => !has(name)) ?? "";
}
