/** Printing on this phone: sizes, the printer's corrections, and the sheet that waits for an answer. */
import { offerFile } from "../../app/files.ts";
import { say } from "../../app/messages.svelte.ts";
import { save } from "../../app/save.ts";
import { here } from "../../app/session.svelte.ts";
import { ApiError } from "../../sync/session.ts";
import { JOB_KEY, pdfRequest, PLAIN, SETTINGS_KEY, STOCKS_KEY, testPagePath, type Job, type Placement, type Settings } from "./job.ts";
import type { Waiting } from "./queue.ts";
import { planSheets, type LabelStock } from "./sheet.ts";

const NO_CONNECTION =
  "Labels are printed by the farm’s computer, and there is no connection to it now. What waits here goes on waiting.";

export class Printing {
  stocks = $state.raw<LabelStock[]>([]);
  settings = $state.raw<Settings>({ stock: "", copies: 1, sheets: {} });
  /** Made, and nobody has said how it printed. */
  job = $state.raw<Job | null>(null);
  trouble = $state("");
  offline = $state(false);
  /** What is being done: "pdf", "again", "well", "test" or "". */
  busy = $state("");

  async load(): Promise<void> {
    const session = here.session;
    this.settings = (await session.kept<Settings>(SETTINGS_KEY)) ?? this.settings;
    this.job = (await session.kept<Job | null>(JOB_KEY)) ?? null;
    this.stocks = (await session.kept<LabelStock[]>(STOCKS_KEY)) ?? [];
    await this.#doing("", async () => {
      this.stocks = await session.api<LabelStock[]>("/api/labels/stocks/");
      await session.keep(STOCKS_KEY, this.stocks);
    });
  }

  placementOf(stock: string): Placement {
    return this.settings.sheets[stock] ?? PLAIN;
  }
  async keepSettings(next: Partial<Settings>): Promise<void> {
    this.settings = { ...this.settings, ...next };
    await here.session.keep(SETTINGS_KEY, this.settings);
  }
  place(stock: string, placement: Placement): Promise<void> {
    return this.keepSettings({ sheets: { ...this.settings.sheets, [stock]: placement } });
  }
  async keepJob(next: Job | null): Promise<void> {
    this.job = next;
    await here.session.keep(JOB_KEY, next);
  }

  /** Blank labels when `blanks` is a number, else those of the things; things without a code get theirs first. */
  print(kind: Job["kind"], things: readonly Waiting[], blanks: number, sheet: Pick<Job, "stock" | "start">): Promise<void> {
    return this.#doing("pdf", async () => {
      const codes = kind === "blank" ? await freshCodes(blanks) : await codesOf(kind, things);
      if (codes) await this.#make({ kind, copies: this.settings.copies, codes, ...sheet });
    });
  }
  again(): Promise<void> {
    return this.#doing("again", async () => {
      if (this.job) await this.#make(this.job);
    });
  }
  async #make(job: Job): Promise<void> {
    const body = pdfRequest(job, this.placementOf(job.stock));
    const pdf = await here.session.api<Blob>("/api/labels/pdf/", { method: "POST", body });
    await this.keepJob(job);
    await offerFile(pdf, `labels-${here.today}.pdf`);
  }

  /** Writes down that the sheet printed well; the next one begins at the first free cell. */
  async printedWell(): Promise<boolean> {
    const done = this.job;
    if (!done) return false;
    this.busy = "well";
    const said = done.codes.length === 1 ? "1 label" : `${done.codes.length} labels`;
    const body = { codes: done.codes, stock: done.stock, copies: done.copies, purpose: done.kind };
    const outcome = await save([{ kind: "printed", body }], { said: `${said} printed`, undone: "they wait to be printed again." });
    this.busy = "";
    if (!outcome.ok) return false;
    const used = this.stocks.find((one) => one.key === done.stock);
    if (used && !used.is_roll) {
      const { nextStart } = planSheets(done.codes.length * done.copies, done.start, used.labels_per_sheet);
      await this.place(done.stock, { ...this.placementOf(done.stock), start: nextStart });
    }
    await this.keepJob(null);
    return true;
  }
  testPage(stock: string): Promise<void> {
    return this.#doing("test", async () => {
      const pdf = await here.session.api<Blob>(testPagePath(stock, this.placementOf(stock)));
      if (await offerFile(pdf, `test-page-${stock}.pdf`)) say("The test page is made. Print it on plain paper at actual size.");
    });
  }

  async #doing(what: string, act: () => Promise<void>): Promise<void> {
    this.busy = what;
    this.trouble = "";
    this.offline = false;
    try {
      await act();
    } catch (error) {
      this.offline = error instanceof ApiError && error.status === 0;
      this.trouble = this.offline ? NO_CONNECTION : sentenceOf(error);
    }
    this.busy = "";
  }
}

function sentenceOf(error: unknown): string {
  if (!(error instanceof ApiError)) return String(error);
  return [...new Set([error.message, ...Object.values(error.fields)])].join(" ");
}

async function freshCodes(count: number): Promise<string[]> {
  const body = JSON.stringify({ count });
  return (await here.session.api<{ codes: string[] }>("/api/labels/blanks/", { method: "POST", body })).codes;
}

/** The code of each thing; null when those of new ones could not be saved. The farm's computer has heard of them by then. */
async function codesOf(kind: "crate" | "lot", things: readonly Waiting[]): Promise<string[] | null> {
  const without = things.filter((one) => !one.code);
  const made = without.length > 0 ? await freshCodes(without.length) : [];
  const given = new Map(without.map((one, index) => [one.id, made[index] ?? ""]));
  if (without.length > 0) {
    const outcome = await save(
      without.map((one) => ({ kind: "labelled" as const, body: { code: given.get(one.id), target: kind, id: one.id } })),
      { said: `${without.length === 1 ? "1 code" : `${without.length} codes`} given out`, undone: "the codes are free again." },
    );
    if (!outcome.ok) return null;
  }
  await here.session.sync.now();
  return things.map((one) => one.code || (given.get(one.id) ?? ""));
}
