/** What was typed, scanned or opened, as a code that lets this device in. Pure. */

const SECRET = /\/pair\/([A-Za-z0-9_-]{16,64})\/?(?:[?#].*)?$/;

/** Six digits, or the secret of a pairing picture; "" when it is neither. */
export function pairingCode(text: string): string {
  const plain = text.replace(/\s/g, "");
  const secret = SECRET.exec(plain)?.[1];
  if (secret) return secret;
  const digits = /^(?:https?:\/\/.*\/pair\/)?(\d{6})\/?$/i.exec(plain)?.[1];
  return digits ?? "";
}

/** From the last part of the address /pair/…: the picture read by the phone's own camera. */
export const codeOfAddress = (part: string): string => pairingCode(/^\d+$/.test(part) ? part : `/pair/${part}`);

/** An iPhone keeps what is written in a tab for a week only, and apart from the app on its home screen. */
export const shouldInstallFirst = (userAgent: string, standalone: boolean): boolean => /iPhone|iPad/.test(userAgent) && !standalone;
