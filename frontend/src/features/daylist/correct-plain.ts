/** Any entry without a form of its own: its figures one by one. Pure. */
import { given, refused, type Desk, type Plan } from "../../app/form/plan.ts";
import { NO_FIELDS, type Fields } from "../../app/form/fields.ts";
import { entrySays } from "../../app/entry-words.ts";
import { parseCount, parseDecimal } from "../../ui/index.ts";
import type { Kind } from "../../core/stock/kinds.ts";

export interface Figure {
  path: (string | number)[];
  label: string;
  text: string;
  /** The text it began with: an untouched figure stays exactly as it was. */
  was: string;
  whole: boolean;
  /** Shown in °F; kept in °C. */
  fahrenheit: boolean;
}

export interface PlainFields extends Fields {
  figures: Figure[];
  body: Record<string, unknown>;
}

export const noPlain = (): PlainFields => ({ ...NO_FIELDS, figures: [], body: {} });

const LABELS: Record<string, string> = {
  temp_c: "Temperature",
  inside_temp_c: "Inside the crate",
  rh_pct: "Humidity, %",
  mass_g: "Weight, g",
  spacing_cm: "Distance, cm",
  seconds: "Seconds",
};
/** Figures that are no count of anything a person wrote. */
const NOT_SHOWN = new Set(["measured_at"]);
const DECIMAL = new Set(["temp_c", "inside_temp_c", "rh_pct"]);

const TEMPERATURES = new Set(["temp_c", "inside_temp_c"]);
const toF = (c: number): number => Math.round((c * 9 * 10) / 5 + 320) / 10;
const toC = (f: number): number => Math.round(((f - 32) * 5000) / 9) / 1000;

function labelOf(path: (string | number)[], causes: Record<string, string>): string {
  const last = String(path.at(-1) ?? "");
  const place = path.filter((one): one is number => typeof one === "number").map((n) => n + 1);
  const words = LABELS[last] ?? causes[last] ?? last.replaceAll("_", " ");
  const said = words.charAt(0).toUpperCase() + words.slice(1);
  return place.length > 0 ? `${said} (${place.join(".")})` : said;
}

/** Every number of a body, in the order it was written; temperatures in the unit asked for. */
export function figuresIn(
  value: unknown,
  causes: Record<string, string>,
  unit: "c" | "f" = "c",
  path: (string | number)[] = [],
): Figure[] {
  if (typeof value === "number") {
    const last = String(path.at(-1) ?? "");
    if (NOT_SHOWN.has(last)) return [];
    const degrees = TEMPERATURES.has(last);
    const fahrenheit = degrees && unit === "f";
    const label = labelOf(path, causes) + (degrees ? (fahrenheit ? ", °F" : ", °C") : "");
    const text = String(fahrenheit ? toF(value) : value);
    return [{ path, label, text, was: text, whole: !DECIMAL.has(last) && Number.isInteger(value), fahrenheit }];
  }
  if (typeof value !== "object" || value === null) return [];
  const entries: [string | number, unknown][] = Array.isArray(value) ? [...(value as unknown[]).entries()] : Object.entries(value);
  return entries.flatMap(([key, one]) => figuresIn(one, causes, unit, [...path, key]));
}

function withFigure(body: unknown, path: (string | number)[], number: number): unknown {
  const [key, ...rest] = path;
  if (key === undefined) return number;
  if (Array.isArray(body)) return (body as unknown[]).map((one, i) => (i === key ? withFigure(one, rest, number) : one));
  const map = body as Record<string, unknown>;
  return { ...map, [key]: withFigure(map[key], rest, number) };
}

export function planPlain(kind: Kind, fields: PlainFields, desk: Desk): Plan {
  const errors: Record<string, string> = {};
  const { note: _note, ...without } = fields.body;
  let body: Record<string, unknown> = { ...without, ...given("note", fields.note.trim()) };
  fields.figures.forEach((figure, i) => {
    const number = figure.whole ? parseCount(figure.text) : parseDecimal(figure.text);
    if (number === null) {
      errors[`figure-${i}`] = `“${figure.text}” is not a ${figure.whole ? "whole number" : "number"}: ${figure.label}.`;
    } else if (String(number) !== figure.was) {
      body = withFigure(body, figure.path, figure.fahrenheit ? toC(number) : number) as Record<string, unknown>;
    }
  });
  if (Object.keys(errors).length > 0) return refused(errors);
  const said = entrySays({ kind, body }, desk.state);
  return { errors, warnings: [], drafts: [{ kind, body }], said: said.charAt(0).toLowerCase() + said.slice(1), undone: "the entry reads as before." };
}
