/** Pages of things other than lots and crates: checks, readings, rounds, plantings, reference rows. */
import { blankTable, type Act, type ActBody } from "./acts.ts";
import { compareTexts } from "./entries.ts";
import { compareStamps } from "../sync/stamp.ts";
import type { Check, FieldState, Planting, Reading, Round, Row } from "./state.ts";

/** Thousandths as an integer, halves up, so that every language prints the same figure. */
export function milli(value: number | undefined): number | null {
  return value === undefined ? null : Math.floor(value * 1000 + 0.5);
}

/** One check with its lines; -1 and "" where nothing was said. */
export function checkPage(act: Act, crate: string): Check {
  const { body } = act;
  return {
    crate,
    code: body.code ?? "",
    round: body.round ?? "",
    on: act.on,
    look: body.look ?? "",
    lines: (body.lines ?? []).map((line) => ({
      lot: line.lot,
      expected: line.expected ?? -1,
      seen: line.seen ?? -1,
      all: line.all === true ? 1 : 0,
      removed: line.removed ?? {},
      noted: line.noted ?? {},
    })),
    unassigned: body.unassigned ?? {},
    moisture: body.moisture ?? "",
    mass_g: body.mass_g ?? -1,
    inside_temp_milli_c: milli(body.inside_temp_c),
    look_again_on: body.look_again_on ?? "",
    note: body.note ?? "",
    author: act.author,
    device: act.device,
  };
}

/** The readings of one entry by "hash:number". */
export function readingPages(act: Act): Map<string, Reading> {
  const { body } = act;
  return new Map(
    (body.readings ?? []).map((reading, i) => [
      `${act.sha256}:${i}`,
      {
        place: body.place ?? "",
        crate: body.crate ?? "",
        round: body.round ?? "",
        measured_at: reading.measured_at,
        temp_milli_c: milli(reading.temp_c),
        rh_milli_pct: milli(reading.rh_pct),
        on: act.on,
      },
    ]),
  );
}

/** A round from its start, its checks and its end, in order; undefined before it is started. */
export function roundPage(acts: readonly Act[]): Round | undefined {
  let page: Round | undefined;
  const seen = new Set<string>();
  for (const { kind, body, on, author } of acts) {
    if (kind === "round_started" && page === undefined) {
      page = {
        place: body.place ?? "", on, look: body.look ?? "", ended: 0, not_seen: [], seen: [], by: author,
      };
    } else if (kind === "checked" && body.crate) {
      seen.add(body.crate);
    } else if (kind === "round_ended" && page !== undefined) {
      page.ended = 1;
      page.not_seen = [...(body.not_seen ?? [])];
    }
  }
  if (page !== undefined) page.seen = [...seen];
  return page;
}

/** A planting from planting to digging. */
export function plantingPage(acts: readonly Act[], variety: string, code: string): Planting {
  const page: Planting = {
    variety, bed: "", row: "", plants: 0, on: "", from: [], emerged: -1, missing: -1,
    removed: blankTable(), stems: 0, marks: blankTable(), kept_in_ground: -1, code,
  };
  for (const act of acts) PLANTING_READERS[act.kind]?.(page, act.body, act.on);
  return page;
}

const PLANTING_READERS: Readonly<Record<string, (page: Planting, body: ActBody, on: string) => void>> = {
  planted: (page, body, on) => {
    const lines = body.from ?? [];
    page.on = page.on || on;
    page.bed = body.bed ?? page.bed;
    page.row = body.row ?? page.row;
    page.plants += body.plants ?? lines.reduce((sum, line) => sum + line.count, 0);
    page.from.push(...lines.map(({ lot, count }) => ({ lot, count })));
  },
  emerged: (page, body) => {
    page.emerged = body.plants ?? page.emerged;
    page.missing = body.missing ?? page.missing;
  },
  rogued: (page, body) => {
    for (const [cause, count] of Object.entries(body.removed ?? {})) {
      page.removed[cause] = (page.removed[cause] ?? 0) + count;
    }
  },
  stems_cut: (page, body) => {
    page.stems += body.stems ?? 0;
  },
  marked: (page, body) => {
    const mark = body.mark ?? "";
    page.marks[mark] = (page.marks[mark] ?? 0) + 1;
  },
  kept_in_ground: (page, body) => {
    page.kept_in_ground = body.plants ?? -1;
  },
};

/** A reference row: for each field the value with the greatest stamp. */
export function rowPage(acts: readonly Act[]): Row | undefined {
  const latest = new Map<string, Act>();
  for (const act of acts) {
    const name = act.body.field ?? "";
    const known = latest.get(name);
    if (known === undefined || isHeavier(act, known)) latest.set(name, act);
  }
  if (latest.size === 0) return undefined;
  const page = blankTable<FieldState>();
  for (const [name, act] of latest) {
    page[name] = { value: act.body.value ?? null, by: act.sha256, on: act.on };
  }
  return page;
}

function isHeavier(a: Act, b: Act): boolean {
  return (compareStamps(a.stamp, b.stamp) || a.seq - b.seq || compareTexts(a.sha256, b.sha256)) > 0;
}
