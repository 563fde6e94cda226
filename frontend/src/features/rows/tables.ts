/** The reference rows of a farm: which fields each table has, and how a field is filled in. */
import type { FieldValue } from "../../core/stock/state.ts";

export const TABLES = ["varieties", "places", "methods"] as const;
export type TableName = (typeof TABLES)[number];

export type FieldSort = "text" | "count" | "money" | "choice" | "yes";

export interface FieldSpec {
  name: string;
  label: string;
  sort: FieldSort;
  hint?: string;
  choices?: { value: string; label: string }[];
}

export interface Words {
  color: string;
  placeSorts: Record<string, string>;
  packing: string;
}

const capital = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);

/** Fields in the order they are shown; the first is the name. */
export function fieldsOf(table: TableName | "crates", words: Words): FieldSpec[] {
  const name: FieldSpec = { name: "name", label: "Name", sort: "text" };
  switch (table) {
    case "varieties":
      return [
        name,
        { name: "form", label: "Form", sort: "text" },
        { name: "size", label: "Size", sort: "text" },
        { name: "colour", label: capital(words.color), sort: "text" },
        { name: "may_not_sell", label: "Not for sale (protected, or not mine to sell)", sort: "yes" },
      ];
    case "places":
      return [
        name,
        {
          name: "sort",
          label: "Sort",
          sort: "choice",
          choices: Object.entries(words.placeSorts).map(([value, label]) => ({ value, label })),
        },
        { name: "check_days", label: "Look every so many days", sort: "count", hint: "Empty: as the farm does it." },
      ];
    case "methods":
      return [
        name,
        { name: "packing", label: capital(words.packing), sort: "text", hint: "Vermiculite, shavings, none …" },
        { name: "container", label: "In what", sort: "text", hint: "Open crate, vented bag, box …" },
        { name: "treatment", label: "Treatment", sort: "text", hint: "As its own label and local rules allow." },
        { name: "minutes_per_100", label: "Minutes for 100", sort: "count" },
        { name: "cost_cents_per_100", label: "Cost of 100, in cents", sort: "count" },
      ];
    case "crates":
      return [{ name: "number", label: "Number", sort: "text" }, { ...name, label: "Name, if it has one" }];
  }
}

/** What a field reads as: "" for nothing. */
export function shown(value: FieldValue | undefined): string {
  if (value === undefined || value === null) return "";
  if (typeof value === "boolean") return value ? "yes" : "";
  return String(value);
}

/** What is to be written for what was typed, or a sentence why not. */
export function readField(spec: FieldSpec, text: string): { value: FieldValue } | { sentence: string } {
  const typed = text.trim();
  if (spec.sort === "yes") return { value: typed === "yes" };
  if (typed === "") return spec.name === "name" ? { sentence: "Give it a name." } : { value: null };
  if (spec.sort !== "count") return { value: typed };
  if (!/^\d{1,9}$/.test(typed)) return { sentence: `${spec.label}: a whole number, or nothing.` };
  const value = Number(typed);
  if (spec.name === "check_days" && (value < 1 || value > 400)) return { sentence: `${spec.label}: a whole number from 1 to 400, or nothing.` };
  return { value };
}
