/**
 * A form being filled in: what was typed (kept over a reload until it is saved),
 * what it would write, what is wrong with it, and the saving. Also corrects an
 * entry that was written with the same form.
 */
import { newestVersion, schemaOf } from "../../core/sync/schemas.ts";
import type { Kind } from "../../core/stock/kinds.ts";
import type { StockState } from "../../core/stock/state.ts";
import type { Draft, LocalEntry, Saved } from "../../sync/session.ts";
import { isTouch } from "../../ui/index.ts";
import { day } from "../format.svelte.ts";
import { back, go } from "../router.svelte.ts";
import { save } from "../save.ts";
import { here } from "../session.svelte.ts";
import { dayTrouble, type Desk, type Plan } from "./plan.ts";
import { standingOf } from "./mendings.ts";
import { draftsOfRows, withNewRows, type NewRow } from "./new-rows.ts";
import type { Fields } from "./fields.ts";

interface Setup<F extends Fields> {
  /** The screen's word in the address; part of the name its draft is kept under. */
  verb: string;
  /** The kind of entry this form writes and corrects. */
  kind: Kind;
  query: URLSearchParams;
  blank: (state: StockState) => F;
  /** What the address asks for: stands in the form until the first save. */
  asked?: Partial<F>;
  /** False leaves the screen open after a save although it was opened for one crate or lot. */
  goesBack?: (fields: F) => boolean;
  plan: (fields: F, desk: Desk) => Plan;
  /** What was typed, from the body of an entry that is to be corrected. */
  read?: (body: Record<string, unknown>, state: StockState) => Partial<F>;
  /** What stays in the form for the next entry, also tomorrow: the tray in use, the bed. */
  remember?: (fields: F) => Partial<F>;
  /** After it is on disk. */
  onsaved?: (fields: F, saved: Saved[]) => void;
}

export class Writing<F extends Fields> {
  fields: F = $state() as F;
  errors: Record<string, string> = $state({});
  warnings: string[] = $state([]);
  /** Nothing is shown before what was kept is read. */
  ready = $state(false);
  busy = $state(false);
  /** The entry being corrected. */
  target: LocalEntry | null = $state.raw(null);
  /** Saves of this form since it was opened. */
  count = $state(0);
  readonly verb: string;
  readonly kind: Kind;
  readonly #setup: Setup<F>;
  readonly #about: string;
  readonly #key: string;
  #sticky: Partial<F> = {};
  #empty = "";
  #kept: string | null = null;

  constructor(setup: Setup<F>) {
    this.#setup = setup;
    this.verb = setup.verb;
    this.kind = setup.kind;
    this.#about = ["crate", "lot", "code"].map((name) => setup.query.get(name)).find(Boolean) ?? "";
    this.#key = `draft:${setup.verb}:${this.#about}`;
    this.fields = { ...setup.blank(here.state), ...setup.asked };
    void this.#open();
    $effect(() => {
      const now = JSON.stringify(this.fields);
      if (!this.ready || this.target) return;
      const next = now === this.#empty ? null : now;
      if (next === this.#kept) return;
      this.#kept = next;
      void here.session.keep(this.#key, next).catch(() => undefined);
    });
  }

  /** The stock with the names this form brings along. */
  get state(): StockState {
    return withNewRows(here.state, this.fields.rows);
  }
  get desk(): Desk {
    return { state: this.state, today: here.today, newId: () => here.newId() };
  }
  get on(): string {
    return this.fields.on || here.today;
  }
  set on(date: string) {
    this.fields.on = date === here.today ? "" : date;
  }
  /** What would be written now. */
  get plan(): Plan {
    return this.#setup.plan(this.fields, this.desk);
  }
  /** Enter saves where there are real keys; the Done of our keypad only closes it. */
  get enter(): { onenter: () => void } | Record<string, never> {
    return isTouch() ? {} : { onenter: () => void this.save() };
  }
  get may(): boolean {
    return here.may(this.target ? "record_corrected" : this.kind);
  }

  /** Makes a name that is kept together with what is written. */
  addRow(table: NewRow["table"], name: string, code?: string): string {
    const id = here.newId();
    this.fields.rows = [...this.fields.rows, { table, id, name: name.trim(), ...(code ? { code } : {}) }];
    return id;
  }

  async save(anyway = false): Promise<boolean> {
    if (this.busy) return false;
    const plan = this.plan;
    const day_ = dayTrouble(this.on, here.today, day);
    this.errors = { ...plan.errors, ...(day_ ? { on: day_ } : {}) };
    this.warnings = [];
    if (Object.keys(this.errors).length > 0) return false;
    if (plan.warnings.length > 0 && !anyway) {
      this.warnings = plan.warnings;
      return false;
    }
    this.busy = true;
    try {
      return await this.#keep(plan);
    } finally {
      this.busy = false;
    }
  }

  /** Lets go of what was typed. */
  clear(): void {
    this.errors = {};
    this.warnings = [];
    this.#start();
  }

  #start(): void {
    const asked = this.count === 0 ? this.#setup.asked : {};
    this.fields = { ...this.#setup.blank(here.state), ...this.#sticky, ...asked };
    this.#empty = JSON.stringify(this.fields);
  }

  async #keep(plan: Plan): Promise<boolean> {
    const before = JSON.parse(JSON.stringify(this.fields)) as F;
    const dated = plan.drafts.map((draft): Draft => ({ ...draft, occurred_on: this.on }));
    const rows = draftsOfRows(before.rows, dated);
    const drafts = this.target ? [...rows, ...this.#correction(this.target, dated)] : [...rows, ...dated];
    const said = this.target ? `Corrected: ${plan.said}` : plan.said;
    const done = await save(drafts, {
      said,
      undone: this.target ? "the entry reads as it did before the correction." : plan.undone,
      onundone: () => {
        if (JSON.stringify(this.fields) === this.#empty) this.fields = before;
      },
    }, this.target ? [] : [this.#key]);
    if (!done.ok) {
      this.errors = { ...done.fields, save: done.sentence };
      return false;
    }
    this.count += 1;
    this.#setup.onsaved?.(before, done.saved);
    if (this.target) {
      const then = this.#setup.query.get("then") ?? "";
      const list = this.on === here.today ? "/days" : `/days?on=${this.on}`;
      await go(/^\/[a-z]/.test(then) ? then : list, { replace: true });
      return true;
    }
    if (this.#setup.remember) {
      this.#sticky = this.#setup.remember(before);
      await here.session.keep(`sticky:${this.verb}`, this.#sticky).catch(() => undefined);
    }
    this.#start();
    this.#kept = null;
    await here.session.keep(this.#key, null).catch(() => undefined);
    if (this.#about && (this.#setup.goesBack?.(before) ?? true)) back("/todo");
    return true;
  }

  /** Fields of the old body that this form does not know are left as they were. */
  #correction(target: LocalEntry, drafts: Draft[]): Draft[] {
    const main = drafts.find((draft) => draft.kind === target.kind);
    if (!main) return [];
    const now = this.#standing(target);
    const known = (schemaOf(target.kind, now.v)?.["properties"] ?? {}) as Record<string, unknown>;
    const extra = Object.fromEntries(Object.entries(now.body).filter(([name]) => !(name in known)));
    return [
      {
        kind: "record_corrected",
        body: {
          target: target.sha,
          ...(target.id ? { target_id: target.id } : {}),
          as_v: newestVersion(target.kind) ?? 1,
          occurred_on: this.on,
          body: { ...extra, ...main.body },
        },
      },
    ];
  }

  #standing(target: LocalEntry) {
    return standingOf(target, entriesNaming(target.sha), here.state);
  }

  async #open(): Promise<void> {
    const sha = this.#setup.query.get("correct");
    const entry = sha ? here.session.entry(sha) : undefined;
    if (entry?.kind === this.kind && this.#setup.read) {
      const now = this.#standing(entry);
      const note = typeof now.body["note"] === "string" ? now.body["note"] : "";
      this.fields = {
        ...this.#setup.blank(here.state),
        ...this.#setup.read(now.body, here.state),
        note,
        on: now.occurred_on === here.today ? "" : now.occurred_on,
      };
      this.target = entry;
    } else {
      this.#sticky = (await here.session.kept<Partial<F>>(`sticky:${this.verb}`).catch(() => undefined)) ?? {};
      this.#start();
      const kept = await here.session.kept<string | null>(this.#key).catch(() => null);
      this.#kept = typeof kept === "string" ? kept : null;
      if (typeof kept === "string") this.fields = { ...this.fields, ...(JSON.parse(kept) as Partial<F>) };
    }
    this.ready = true;
  }
}

/** Entries that name this id or entry, and what mends them; newest last. */
export function entriesNaming(name: string): LocalEntry[] {
  return here.entriesFor({ lot: name });
}
