/** Checks that were begun and not saved. They are kept on this phone and always shown somewhere. */
import type { CheckOf } from "./open.svelte.ts";
import { here } from "./session.svelte.ts";

const KEY = "check-drafts";
let waiting = $state.raw<CheckOf[]>([]);

export const drafts = {
  get waiting(): readonly CheckOf[] {
    return waiting;
  },
};

/** Under which key the form of a check is kept. */
export const checkKey = (of: CheckOf): string => `check:${of.crate || of.code}`;
const same = (a: CheckOf, b: CheckOf): boolean => a.crate === b.crate && a.code === b.code;

export async function loadDrafts(): Promise<void> {
  const noted = here.ready ? ((await here.session.kept<CheckOf[]>(KEY)) ?? []) : [];
  // One that was saved right before the app ended is gone, though still noted.
  const forms = await Promise.all(noted.map((of) => here.session.kept(checkKey(of))));
  waiting = noted.filter((_, i) => forms[i]);
}

/** Says whether this check now holds something nobody saved. */
export async function noteDraft(of: CheckOf, is: boolean): Promise<void> {
  if (waiting.some((one) => same(one, of)) === is) return;
  const others = waiting.filter((one) => !same(one, of));
  waiting = is ? [...others, { crate: of.crate, code: of.code }] : others;
  await here.session.keep(KEY, waiting);
}
