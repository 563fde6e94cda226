/** What the last part of the Phone page says and allows: copying out, signing out, erasing. Pure. */

const entries = (n: number): string => (n === 1 ? "1 entry" : `${n} entries`);

export interface Leaving {
  /** Entries that are only on this device. */
  waiting: number;
  /** The farm's computer does not know this device any more. */
  signedOut: boolean;
  /** How many of them the last copy held; 0 when none was made since this page was opened. */
  copied: number;
}

/** Signing out loses nothing, so it is refused while something would be lost. */
export const maySignOut = ({ waiting }: Leaving): boolean => waiting === 0;

/** Erasing loses entries: only with a copy that holds every one of them. */
export const mayErase = ({ waiting, copied }: Leaving): boolean => waiting > 0 && copied === waiting;

export function whySignOutIsOff({ waiting, signedOut }: Leaving): string {
  if (waiting === 0) return "";
  const only = `Off while ${entries(waiting)} ${waiting === 1 ? "is" : "are"} only on this device.`;
  return signedOut ? `${only} Sign in again and ${waiting === 1 ? "it goes" : "they go"} out by ${waiting === 1 ? "itself" : "themselves"}.` : `${only} Send ${waiting === 1 ? "it" : "them"} first.`;
}

export function whatErasingTakes({ waiting, copied }: Leaving): string {
  if (copied === 0) return `For a phone that cannot send any more. First copy the ${entries(waiting)} out.`;
  if (copied !== waiting) return `The copy holds ${entries(copied)}, and ${waiting} are waiting by now. Copy them out again.`;
  return `The copy holds ${waiting === 1 ? "the entry" : `all ${entries(waiting)}`}. Erasing loses ${waiting === 1 ? "it" : "them"} on this device; the copy is then the only one, and the farm’s computer can take it in.`;
}
