/** The one way a screen saves: on disk first, then beep, frame and words, with Undo that stays. */
import { SaveFailed, type Draft, type Saved } from "../sync/session.ts";
import { countSave, say, sayBad } from "./messages.svelte.ts";
import { here } from "./session.svelte.ts";
import { beepSaved, beepWrong } from "./signals.ts";
import { w } from "./words/index.svelte.ts";

export type Outcome =
  | { ok: true; saved: Saved[] }
  | { ok: false; sentence: string; fields: Record<string, string> };

export interface SaveWords {
  /** "Crate 12: 32 good" → "Saved on this phone: Crate 12: 32 good." */
  said: string;
  /** "Crate 12 is back to 34." */
  undone: string;
  onundone?: () => void;
}

/**
 * Keeps the drafts as one. When it fails nothing is kept, the form stays and the sentence is said.
 * `form` names what was kept of the form that is saved by this; it goes with it.
 */
export async function save(drafts: Draft[], words: SaveWords, form: readonly string[] = []): Promise<Outcome> {
  try {
    const saved = await here.recordFrom(form, ...drafts);
    beepSaved();
    countSave();
    say(`${w.savedHere}: ${words.said}.`, {
      label: w.undo,
      onpress: () => void undo(saved, words),
    });
    return { ok: true, saved };
  } catch (error) {
    const failed = error instanceof SaveFailed ? error : null;
    const sentence = failed?.sentence ?? `Not saved: ${error instanceof Error ? error.message : String(error)}`;
    beepWrong();
    sayBad(sentence);
    return { ok: false, sentence, fields: failed?.fields ?? {} };
  }
}

/** Voids what was saved, last first, all or none. */
export async function undo(saved: readonly Saved[], words: { undone: string; onundone?: () => void }): Promise<void> {
  const drafts: Draft[] = [...saved].reverse().map(({ sha, id }) => ({
    kind: "record_voided",
    body: { target: sha, target_id: id },
  }));
  try {
    await here.record(...drafts);
    countSave();
    say(`Undone: ${words.undone}`);
    words.onundone?.();
  } catch (error) {
    sayBad(error instanceof SaveFailed ? error.sentence : `Not undone: ${String(error)}`);
  }
}
