/**
 * What each field of each kind is called on screen, and how a refusal reads.
 * Keys: `kind/path` for one kind, `path` for all; `*` stands for a place in a list
 * or a name the person chose.
 */
export const FIELD_WORDS: Readonly<Record<string, string>> = {
  about: "About",
  amount: "Amount",
  as_body: "The entry as it should read",
  as_kind: "Kind",
  as_v: "Version",
  back: "Back to the store",
  bed: "Bed",
  body: "The corrected entry",
  by: "Named by",
  by_feel: "By feel",
  code: "Code",
  codes: "Codes",
  "codes/*": "Code",
  container: "Crate or tray",
  copies: "Copies",
  count: "Count",
  crate: "Crate",
  cut: "Cut",
  days: "Days",
  decision: "Decision",
  discarded: "Thrown out",
  "discarded/*": "Thrown out",
  emerged: "Plants up",
  expected: "Expected",
  eyes: "Eyes",
  field: "Field",
  flag: "Flag",
  from: "From",
  "from/*/count": "Count taken",
  "from/*/lot": "Batch taken from",
  "from/*/thrown_out": "Threw out",
  "from/*/thrown_out/*": "Threw out",
  from_planting: "Planting it came from",
  going_out: "The entry it went out by",
  grade: "Grade",
  how: "How it went out",
  id: "What it belongs to",
  inside_temp_c: "Temperature inside",
  into: "Into",
  "into/*/count": "Count made",
  "into/*/lot": "New batch",
  "labelled/id": "What the label is for",
  "labelled/target": "What the label is for",
  lines: "Batches in the crate",
  "lines/*/expected": "Expected",
  "lines/*/lot": "Batch",
  "lines/*/noted": "Kept",
  "lines/*/noted/*": "Kept",
  "lines/*/removed": "Threw out",
  "lines/*/removed/*": "Threw out",
  "lines/*/seen": "Seen",
  look: "How it was looked at",
  look_again_on: "Look again on",
  lot: "Batch",
  lots: "Batches",
  "lots/*": "Batch",
  "lots/*/count": "Count",
  "lots/*/lot": "Batch",
  mark: "Mark",
  mass_g: "Weight in grams",
  measured: "Reading",
  method: "Storage method",
  missing: "Missing",
  moisture: "Moisture of the packing",
  no_tubers: "No tubers",
  not_counted: "Not counted",
  not_seen: "Crates not seen",
  "not_seen/*": "Crate not seen",
  note: "Note",
  nothing_there: "Nothing there",
  occurred_on: "Day",
  of: "Batch it came from",
  order: "Order",
  papers: "Papers",
  place: "Place",
  plant: "Plant",
  planted: "Planted",
  planting: "Planting",
  plants: "Plants",
  position: "Position",
  problem: "What doesn't add up",
  purpose: "What the labels are for",
  readings: "Readings",
  "readings/*/measured_at": "Time of the reading",
  "readings/*/rh_pct": "Humidity",
  "readings/*/temp_c": "Temperature",
  removed: "Taken out",
  "removed/*": "Taken out",
  rotted: "Rotted",
  round: "Round",
  row: "Row",
  rows: "Rows",
  sale: "Sale",
  "same_as/into": "The one that stays",
  "same_as/row": "The one that goes",
  seconds: "Seconds",
  seen: "Dug",
  sha256: "File of readings",
  showing: "Eyes showing",
  spacing_cm: "Spacing in cm",
  state: "State",
  stems: "Stems",
  still_in: "Still in the ground",
  stock: "Label sheet",
  supplier: "Supplier",
  table: "List",
  target: "Entry",
  target_id: "Entry",
  task: "Task",
  thrown_out: "Threw out",
  "thrown_out/*": "Threw out",
  to: "To",
  unassigned: "Threw out, batch not known",
  "unassigned/*": "Threw out, batch not known",
  unit: "Clump, tuber, cutting or pot plant",
  value: "Value",
  variety: "Variety",
  washed: "Washed",
  why: "Why",
};

/** What is missing when none of the ways to say it was used. */
export const EITHER_WORDS: Readonly<Record<string, string>> = {
  checked: "Choose a crate, or type the code on its label",
  identified: "Choose a batch or a planting",
  measured: "Choose a place or a crate for the reading",
  moved: "Choose a crate and where it goes, or a batch and its new crate",
  promised: "Choose a variety or a batch",
};

/** How a field is called in a refusal about `path` of `kind`. */
export function fieldWords(kind: string, path: readonly string[]): string {
  const general = path.map((step) => (/^\d+$/.test(step) ? "*" : step));
  for (const key of keysFor(general)) {
    const words = FIELD_WORDS[`${kind}/${key}`] ?? FIELD_WORDS[key];
    if (words !== undefined) return words;
  }
  return general.length === 0 ? "The entry" : spaced(general[general.length - 1] ?? "");
}

function keysFor(path: readonly string[]): string[] {
  const starred = [...path.slice(0, -1), "*"];
  return [path.join("/"), starred.join("/"), path[path.length - 1] ?? ""];
}

function spaced(name: string): string {
  const text = name.replaceAll("_", " ");
  return text.charAt(0).toUpperCase() + text.slice(1);
}
