/**
 * Where a lot lay in store, packed how, from when to when; the only part of the stock
 * that needs order.
 *
 * What a lot takes over from its parent is looked up strictly before the entry that made
 * it, so a lot that went back and forth between two others is no riddle: each step leads
 * to an earlier entry.
 */
import type { Act } from "./acts.ts";
import type { Packing } from "./crates.ts";
import { compareKeys, type OrderKey } from "./entries.ts";
import { births, placementOf, type Birth } from "./facts.ts";

/** Longest line of parents followed; a longer one is taken as not packed. */
export const DEEPEST = 200;

/** One lot in one crate, packed one way. `until` is null while it lasts. */
export interface LotStay {
  crate: string;
  method: string;
  moisture: string;
  packed_on: string;
  first_crate: string;
  entered: string;
  since: OrderKey;
  until: OrderKey | null;
  ended: string;
}

/** A lot's container and the stays it had, at some place in the order. */
export interface Whereabouts {
  container: string;
  placedBy: OrderKey | null;
  stays: readonly LotStay[];
}

const NOWHERE: Whereabouts = { container: "", placedBy: null, stays: [] };

export interface Sources {
  actsOf: (lot: string) => readonly Act[];
  packingOf: (crate: string, key: OrderKey) => Packing | null;
}

/** Looks lots up; one for each time the stock is folded, since it remembers what it found. */
export class Tracer {
  private readonly found = new Map<string, Whereabouts>();

  constructor(private readonly from: Sources) {}

  /** Container and stays of a lot after all its entries. */
  whereabouts(lot: string): Whereabouts {
    return this.trace(lot, null, 0);
  }

  private before(lot: string, act: Act, depth: number): Whereabouts {
    if (lot === "") return NOWHERE;
    const name = `${lot} ${act.sha256} ${depth}`;
    const known = this.found.get(name);
    if (known) return known;
    const at = this.trace(lot, act.key, depth + 1);
    this.found.set(name, at);
    return at;
  }

  private trace(lot: string, before: OrderKey | null, depth: number): Whereabouts {
    let at = NOWHERE;
    if (depth > DEEPEST) return at;
    for (const act of this.from.actsOf(lot)) {
      if (before !== null && compareKeys(act.key, before) >= 0) break;
      at = this.step(lot, act, at, depth);
    }
    return at;
  }

  private step(lot: string, act: Act, at: Whereabouts, depth: number): Whereabouts {
    const { kind, body } = act;
    if (kind === "woken" && body.lot === lot) return body.back ? reopened(at, act) : closed(at, act, "woken");
    const put = placementOf(act, lot);
    if (kind === "emptied") {
      if (put === undefined) return at;
      return { ...closed(at, act, "emptied"), container: "", placedBy: act.key };
    }
    if (kind === "packed" && put !== undefined) {
      const origin = currentOf(this.before(parentOf(lot, act), act, depth)) ?? currentOf(at);
      return opened(closed(at, act, "repacked"), packedStay(act, put, origin), act);
    }
    if (kind === "moved") return put === undefined ? at : moved(at, act, put);
    const born = births(act).find((birth) => birth.lot === lot);
    if (born === undefined || at.placedBy !== null) return at;
    return this.born(born, act, lot, depth);
  }

  /** Where a new lot starts: where it was put, or where its parent lay; in store if that was. */
  private born({ container }: Birth, act: Act, lot: string, depth: number): Whereabouts {
    if (act.kind === "split" || act.kind === "graded") {
      const origin = this.before(parentOf(lot, act), act, depth);
      const crate = container || origin.container;
      const from = currentOf(origin);
      const stays = from && crate ? [{ ...from, crate, since: act.key, entered: "split" }] : [];
      return { container: crate, placedBy: act.key, stays };
    }
    const packing = container ? this.from.packingOf(container, act.key) : null;
    const comesIn = act.kind === "found" || act.kind === "returned" || act.kind === "bought";
    const stays = comesIn && packing ? [foundStay(container, packing, act)] : [];
    return { container, placedBy: act.key, stays };
  }
}

function currentOf(at: Whereabouts): LotStay | undefined {
  const last = at.stays.at(-1);
  return last?.until === null ? last : undefined;
}

function parentOf(lot: string, act: Act): string {
  return (act.body.from ?? []).find((line) => line.lot !== lot)?.lot ?? "";
}

function packedStay(act: Act, crate: string, origin: LotStay | undefined): LotStay {
  return {
    crate,
    method: act.body.method ?? "",
    moisture: act.body.moisture ?? "",
    packed_on: act.on,
    first_crate: origin ? origin.first_crate : crate,
    entered: origin ? "repacked" : "packed",
    since: act.key,
    until: null,
    ended: "",
  };
}

function foundStay(crate: string, packing: Packing, act: Act): LotStay {
  const { method, moisture, on } = packing;
  return {
    crate, method, moisture, packed_on: on, first_crate: crate, entered: "found",
    since: act.key, until: null, ended: "",
  };
}

function closed(at: Whereabouts, act: Act, why: string): Whereabouts {
  const current = currentOf(at);
  if (current === undefined) return at;
  return { ...at, stays: [...at.stays.slice(0, -1), { ...current, until: act.key, ended: why }] };
}

function opened(at: Whereabouts, stay: LotStay, act: Act): Whereabouts {
  return { container: stay.crate, placedBy: act.key, stays: [...at.stays, stay] };
}

function moved(at: Whereabouts, act: Act, container: string): Whereabouts {
  const current = currentOf(at);
  const away = { ...closed(at, act, "moved"), container, placedBy: act.key };
  if (current === undefined || container === "") return away;
  return opened(away, { ...current, crate: container, since: act.key, entered: "moved" }, act);
}

function reopened(at: Whereabouts, act: Act): Whereabouts {
  const last = at.stays.at(-1);
  if (last === undefined || last.until === null || last.ended !== "woken") return at;
  const again = { ...last, since: act.key, until: null, ended: "", entered: "moved" };
  return { ...at, stays: [...at.stays, again] };
}
