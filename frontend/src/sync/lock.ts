/** One window of a farm syncs at a time. */
import type { FarmStore } from "../store/farm-store.ts";

/** Runs `act` alone among the windows of this device; rejects when `signal` ends the wait. */
export type Lock = <T>(act: () => Promise<T>, signal: AbortSignal) => Promise<T>;

export function webLock(name: string, locks: LockManager): Lock {
  return (act, signal) => locks.request(name, { signal }, act) as ReturnType<typeof act>;
}

export interface LeaseParts {
  store: FarmStore;
  /** A name for this window. */
  holder: string;
  now: () => number;
  wait: (ms: number, signal: AbortSignal) => Promise<void>;
}

const LEASE_MS = 60_000;
const ASK_AGAIN_MS = 5_000;

/**
 * For browsers without Web Locks: a row in the database, good for a minute. Two
 * windows that both believe to hold it do no harm, since pushes may be repeated and a
 * page is only written at the cursor it was asked for.
 */
export function leaseLock({ store, holder, now, wait }: LeaseParts): Lock {
  return async (act, signal) => {
    while (!(await store.takeLease(holder, now(), LEASE_MS))) {
      signal.throwIfAborted();
      await wait(ASK_AGAIN_MS, signal);
    }
    try {
      return await act();
    } finally {
      await store.takeLease(holder, now(), 0);
    }
  };
}
