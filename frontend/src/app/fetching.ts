/** What is still missing on this device, in words for the person who waits for it. */
export interface Fetching {
  title: string;
  done: number;
  total: number;
  /** What can be done meanwhile, and what stands still. */
  note: string;
  paused: boolean;
  mayPause: boolean;
}

interface Sync {
  phase: string;
  fetched: { held: number; head: number } | null;
  paused: boolean;
  last_error: string | null;
}

/** Fewer entries than this come at once and need no words. */
const WORTH_TELLING = 1_000;

/** null when nothing worth telling is missing. */
export function fetching(sync: Sync, reading: { done: number; total: number } | null): Fetching | null {
  if (reading !== null) {
    const note = "Nothing is lost. Lists fill up as it goes on, and what you write is kept.";
    return { title: "Reading what is kept on this phone", ...reading, note, paused: false, mayPause: false };
  }
  const { fetched, paused } = sync;
  if (fetched === null || fetched.held >= fetched.head) return null;
  if (!paused && fetched.head - fetched.held < WORTH_TELLING) return null;
  return {
    title: "Copying your stock to this phone",
    done: fetched.held,
    total: fetched.head,
    note: noteOf(sync),
    paused,
    mayPause: true,
  };
}

function noteOf({ paused, phase, last_error }: Sync): string {
  if (paused) return "Stopped. Lists and counts lack what is not here yet; what you write is kept and still sent.";
  if (phase === "waiting" && last_error === "no_connection") {
    return "No connection. It goes on from here by itself; until then lists and counts lack what is missing.";
  }
  if (phase === "signed-out") return "This phone is signed out, so nothing more comes. What is here stays here.";
  return "The newest come last: lists and counts are not complete yet. You can write meanwhile, and close the app: it goes on from here.";
}
