/** Why the device's database did not do what was asked. */

/** The device has no room left. */
export class StorageFull extends Error {
  constructor(cause?: unknown) {
    super("the device has no room left", { cause });
    this.name = "StorageFull";
  }
}

/** The database would not store it, also at the second try. */
export class NotStored extends Error {
  constructor(cause?: unknown) {
    super("the database would not store it", { cause });
    this.name = "NotStored";
  }
}

/** Another window runs a newer build, or the farm was taken off this device. */
export class StoreClosed extends Error {
  constructor() {
    super("another window has taken over the database");
    this.name = "StoreClosed";
  }
}

interface Named {
  name?: unknown;
  message?: unknown;
  inner?: unknown;
  cause?: unknown;
}

function names(error: unknown): string[] {
  const found: string[] = [];
  let at = error as Named | null | undefined;
  for (let depth = 0; at && typeof at === "object" && depth < 4; depth += 1) {
    found.push(String(at.name), String(at.message));
    at = (at.inner ?? at.cause) as Named | undefined;
  }
  return found;
}

export function isFull(error: unknown): boolean {
  return names(error).some((text) => text.includes("QuotaExceeded"));
}

const LOST = [
  "DatabaseClosed", "InvalidState", "UnknownError", "AbortError", "TransactionInactive",
  "OpenFailed", "connection was closed", "connection is closing",
  "Connection to Indexed Database server lost",
];

/**
 * Phones drop connections after sleep or under memory pressure; a new one works.
 * (WebKit's "Connection to Indexed Database server lost".)
 */
export function isLost(error: unknown): boolean {
  return !isFull(error) && names(error).some((text) => LOST.some((word) => text.includes(word)));
}
