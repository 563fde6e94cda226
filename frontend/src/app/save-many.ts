/** Saves many entries that belong together, in pieces, with progress; Undo takes all of them back. */
import { SaveFailed, type Draft, type Saved } from "../sync/session.ts";
import { countSave, say, sayBad } from "./messages.svelte.ts";
import { here } from "./session.svelte.ts";
import { beepSaved, beepWrong } from "./signals.ts";
import { w } from "./words/index.svelte.ts";

/** So many are on disk before the next are tried; the screen moves on between. */
export const PIECE = 50;

export interface ManyWords {
  /** "31 entries count" */
  said: (count: number) => string;
  /** "they are set aside again." */
  undone: string;
}

type Keep = (drafts: Draft[]) => Promise<Saved[]>;

/** What was kept, and the error that ended it, if any. `done` is told after each piece. */
export async function inPieces(
  drafts: readonly Draft[],
  keep: Keep,
  done: (count: number) => void | Promise<void>,
): Promise<{ saved: Saved[]; error: unknown }> {
  const saved: Saved[] = [];
  for (let i = 0; i < drafts.length; i += PIECE) {
    try {
      saved.push(...(await keep(drafts.slice(i, i + PIECE))));
    } catch (error) {
      return { saved, error };
    }
    await done(saved.length);
  }
  return { saved, error: null };
}

const nextFrame = (): Promise<void> => new Promise((resolve) => setTimeout(resolve));

/** Never rejects; the sentence says what was kept when not all was. */
export async function saveMany(
  drafts: readonly Draft[],
  words: ManyWords,
  progress: (done: number, total: number) => void,
): Promise<{ ok: boolean; sentence: string }> {
  const told = (count: number): Promise<void> => {
    progress(count, drafts.length);
    return nextFrame();
  };
  const { saved, error } = await inPieces(drafts, (some) => here.record(...some), told);
  const action = saved.length > 0 ? { label: w.undo, onpress: () => void undoMany(saved, words, told) } : null;
  if (error === null) {
    beepSaved();
    countSave();
    say(`${w.savedHere}: ${words.said(saved.length)}.`, action);
    return { ok: true, sentence: "" };
  }
  beepWrong();
  const sentence = `${sentenceOf(error)} ${saved.length} of ${drafts.length} are done.`;
  sayBad(sentence, action);
  return { ok: false, sentence };
}

async function undoMany(all: readonly Saved[], words: ManyWords, told: (count: number) => Promise<void>): Promise<void> {
  const drafts: Draft[] = [...all].reverse().map(({ sha, id }) => ({ kind: "record_voided", body: { target: sha, target_id: id } }));
  const { saved, error } = await inPieces(drafts, (some) => here.record(...some), told);
  if (error === null) {
    countSave();
    say(`Undone: ${words.undone}`);
  } else {
    sayBad(`${sentenceOf(error)} ${saved.length} of ${all.length} are taken back.`);
  }
}

function sentenceOf(error: unknown): string {
  return error instanceof SaveFailed ? error.sentence : `Not saved: ${error instanceof Error ? error.message : String(error)}`;
}
