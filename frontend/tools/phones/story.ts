/** What a person writes down, over and over: crates, what is found in them, looks, moves, mistakes. */
import { mayWrite } from "../../src/core/sync/rights.ts";
import type { Draft, FarmSession, Saved } from "../../src/sync/session.ts";

/** Numbers in [0, 1), the same for the same seed (mulberry32, Tommy Ettinger, public domain). */
export function chance(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = state;
    mixed = Math.imul(mixed ^ (mixed >>> 15), mixed | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}

export class Story {
  private crates = 0;
  private last: Saved | undefined;

  constructor(
    private readonly session: () => FarmSession,
    private readonly random: () => number,
  ) {}

  /** One act: one entry, or a few that belong together. */
  act(): Draft[] {
    const role = this.session().member.role;
    return this.anything().filter((draft) => mayWrite(draft.kind, role));
  }

  private anything(): Draft[] {
    const drafts = this.pick([
      () => this.newCrate(),
      () => this.look(),
      () => this.look(),
      () => this.move(),
      () => this.mistake(),
    ])();
    return drafts.length > 0 ? drafts : this.newCrate();
  }

  /** What the last act became. */
  wrote(saved: readonly Saved[]): void {
    this.last = saved.at(-1);
  }

  private pick<T>(from: readonly T[]): T {
    return from[Math.floor(this.random() * from.length)] as T;
  }

  private newCrate(): Draft[] {
    const session = this.session();
    this.crates += 1;
    const crate = session.newId();
    const number = `${session.device.name} ${this.crates}`;
    const lot = { lot: session.newId(), variety: "unknown", unit: "tuber", count: 5 + Math.floor(this.random() * 40) };
    return [
      { kind: "field_set", body: { table: "crates", row: crate, field: "number", value: number } },
      { kind: "found", body: { ...lot, container: crate } },
    ];
  }

  private lots() {
    return Object.entries(this.session().state.lots).filter(([, lot]) => lot.balance > 0 && lot.container);
  }

  private look(): Draft[] {
    const lots = this.lots();
    if (lots.length === 0) return [];
    const [id, lot] = this.pick(lots);
    const line = { lot: id, expected: lot.balance, removed: { rot: 1 } };
    return [{ kind: "checked", body: { crate: lot.container, look: "top", lines: [line], note: "wrinkled ".repeat(this.random() * 30) } }];
  }

  private move(): Draft[] {
    const lots = this.lots();
    if (lots.length === 0) return [];
    const [, lot] = this.pick(lots);
    return [{ kind: "moved", body: { crate: lot.container, position: `shelf ${Math.floor(this.random() * 9)}` } }];
  }

  private mistake(): Draft[] {
    const { last } = this;
    this.last = undefined;
    return last ? [{ kind: "record_voided", body: { target: last.sha, target_id: last.id } }] : [];
  }
}
