/** The first sentence of the Phone page. Pure. */
export interface Sent {
  unsent: number;
  stuck: number;
  /** "today 09:14", or "" when nothing was ever sent from here. */
  lastOk: string;
  signedOut: boolean;
}

export function sentSentence({ unsent, stuck, lastOk, signedOut }: Sent): string {
  const last = lastOk ? ` Last sent ${lastOk}.` : " Nothing has been sent from this phone yet.";
  if (signedOut) return `This phone is signed out. ${unsent === 0 ? "Nothing waits to be sent." : `${many(unsent)} only on this phone.`} You can go on counting; sign in again when you have signal.`;
  if (unsent > 0) return `${many(unsent)} only on this phone.${last}`;
  if (stuck > 0) return `Everything else has been sent.${last}`;
  return `Everything on this phone is safe on the farm's computer.${lastOk ? last : ""}`;
}

const many = (n: number): string => (n === 1 ? "1 entry is" : `${n} entries are`);
