/** Clumps are cut into single tubers, which go into a tray and not into store yet. Pure. */
import { CountReader, countIn, given, linesIn, refused, sumOf, tallyIn, textIn, without0, type Desk, type Plan } from "../../app/form/plan.ts";
import { NO_FIELDS, type Fields } from "../../app/form/fields.ts";
import { inStock, lotOptions, onBench, type LotOption } from "../../app/form/lot-options.ts";
import { varietyOptions } from "../../app/choices.ts";
import { varietyName } from "../../app/names.ts";
import { countOf } from "../../app/words/index.svelte.ts";
import type { Lot, StockState } from "../../core/stock/state.ts";
import type { Draft } from "../../sync/session.ts";

export interface DivideFields extends Fields {
  /** A lot of clumps, or "new:" and a variety whose clumps nothing recorded. */
  source: string;
  /** One clump after the other, or the whole variety at once. */
  by: "variety" | "clump";
  clumps: string;
  counts: Record<string, string>;
  others: Record<string, number>;
  notCounted: boolean;
  tray: string;
  tally: boolean;
  /** Lots made, kept when corrected. */
  made: Record<string, string>;
}

export const NEW = "new:";
export const EYES = ["showing", "unsure"] as const;
export const ROWS = [
  { key: "showing", label: "Eyes showing" },
  { key: "unsure", label: "Can't tell yet" },
  { key: "blind", label: "Blind, thrown out" },
] as const;
export const OTHER_CAUSES = ["rot", "broken", "neck_or_eyes_gone", "too_small", "dried_up", "disease", "eaten", "other"] as const;

export const noDivide = (): DivideFields => ({
  ...NO_FIELDS,
  source: "",
  by: "variety",
  clumps: "",
  counts: {},
  others: {},
  notCounted: false,
  tray: "",
  tally: false,
  made: {},
});

/** Clumps to cut, then varieties whose clumps nobody wrote down. */
export function divideOptions(state: StockState, show: (date: string) => string, first = ""): LotOption[] {
  const clumps = lotOptions(state, (lot) => lot.unit === "clump" && inStock(lot), show, first);
  const fresh = varietyOptions(state).map(({ value, label }) => ({
    value: NEW + value,
    label,
    note: "clumps not written down before",
  }));
  return [...clumps, ...fresh];
}

/** How many clumps a lot still has by the book; null for clumps not written down before. */
export function clumpsLeft(state: StockState, source: string): number | null {
  return state.lots[source]?.balance ?? null;
}

/** The variety of what is being cut, or "". */
export function varietyOf(state: StockState, source: string): string {
  return source.startsWith(NEW) ? source.slice(NEW.length) : (state.lots[source]?.variety ?? "");
}

/** A lot of the same origin, eyes and tray that more tubers can be added to, or "". */
export function addsTo(state: StockState, source: string, eyes: string, tray: string): string {
  const fits = (lot: Lot) =>
    lot.unit === "tuber" &&
    lot.eyes === eyes &&
    lot.container === tray &&
    lot.variety === varietyOf(state, source) &&
    lot.parents.length === 1 &&
    lot.parents[0] === source &&
    !("from" in lot.curing) &&
    onBench(lot);
  return Object.keys(state.lots).sort().find((id) => fits(state.lots[id] as Lot)) ?? "";
}

export function planDivide(fields: DivideFields, desk: Desk): Plan {
  const reader = new CountReader();
  const left = clumpsLeft(desk.state, fields.source);
  const clumps = reader.read("clumps", fields.clumps, fields.by === "clump" ? 1 : (left ?? 0));
  const [showing = 0, unsure = 0, blind = 0] = ROWS.map(({ key }) => reader.read(key, fields.counts[key] ?? "", 0));
  if (!fields.source) reader.errors["source"] = "Choose what was cut: a variety, or a batch of clumps.";
  if (!reader.failed && clumps === 0) reader.errors["clumps"] = "Type how many clumps were cut.";
  const discarded = without0({ ...(fields.notCounted ? {} : fields.others), blind });
  if (!reader.failed && showing + unsure + sumOf(discarded) === 0 && !fields.notCounted) {
    reader.errors["showing"] = "Type how many tubers came off, or what was thrown out.";
  }
  if (reader.failed) return refused(reader.errors);

  const fresh = fields.source.startsWith(NEW);
  const source = fresh ? fields.made["source"] || desk.newId() : fields.source;
  const variety = varietyOf(desk.state, fields.source);
  const into = EYES.map((eyes) => ({ eyes, count: eyes === "showing" ? showing : unsure }))
    .filter(({ eyes, count }) => count > 0 || fields.made[eyes])
    .map(({ eyes, count }) => ({
      lot: fields.made[eyes] || addsTo(desk.state, source, eyes, fields.tray) || desk.newId(),
      count,
      eyes,
      ...given("container", fields.tray),
    }));
  const drafts: Draft[] = [
    ...(fresh ? [{ kind: "found", body: { lot: source, variety, unit: "clump", count: clumps } } as Draft] : []),
    {
      kind: "divided",
      body: {
        from: [{ lot: source, count: clumps }],
        into,
        ...(sumOf(discarded) > 0 ? { discarded } : {}),
        ...(fields.notCounted ? { not_counted: true } : {}),
        ...given("note", fields.note.trim()),
      },
    },
  ];
  const of = varietyName(desk.state, variety);
  return {
    errors: {},
    warnings:
      left !== null && clumps > left && Object.keys(fields.made).length === 0
        ? [`The book has ${countOf(Math.max(0, left), "clump")} of ${of} here, and you cut ${clumps}. Saved all the same it shows under “doesn't add up” until it is put right.`]
        : [],
    drafts,
    said: `${countOf(clumps, "clump")} of ${of} gave ${showing + unsure} to keep`,
    undone: `the ${clumps === 1 ? "clump is" : "clumps are"} whole again in the book.`,
  };
}

export function readDivide(body: Record<string, unknown>): Partial<DivideFields> {
  const from = linesIn(body, "from")[0] ?? {};
  const into = linesIn(body, "into");
  const of = (eyes: string) => into.find((line) => line["eyes"] === eyes) ?? {};
  const { blind, ...others } = tallyIn(body, "discarded");
  const made: Record<string, string> = {};
  for (const eyes of EYES) if (textIn(of(eyes), "lot")) made[eyes] = textIn(of(eyes), "lot");
  return {
    source: textIn(from, "lot"),
    clumps: countIn(from, "count"),
    counts: { showing: countIn(of("showing"), "count"), unsure: countIn(of("unsure"), "count"), blind: blind ? String(blind) : "" },
    others,
    notCounted: body["not_counted"] === true,
    tray: textIn(into[0] ?? {}, "container") || textIn(body, "container"),
    made,
  };
}
