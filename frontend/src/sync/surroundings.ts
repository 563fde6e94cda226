/** What a session needs from the browser, in one place, so that tests can bring their own. */
import type { DexieSeams } from "../store/connection.ts";
import { doorOf, type Door } from "./http-transport.ts";

export interface Neighbours {
  tell: () => void;
  close: () => void;
}

export interface Surroundings {
  /** ms UTC */
  now: () => number;
  randomBytes: (count: number) => Uint8Array;
  /** In [0, 1). */
  random: () => number;
  /** Resolves after `ms`, or at once when `signal` is aborted. */
  wait: (ms: number, signal: AbortSignal) => Promise<void>;
  seams: DexieSeams;
  locks: LockManager | null;
  door: (token: () => string) => Door;
  /** Other windows of this browser: `tell` reaches them, `heard` is called by them. */
  neighbours: (name: string, heard: () => void) => Neighbours;
  /** Calls `fn` when it is a good moment to try the network; the answer ends it. */
  goodMoments: (fn: () => void) => () => void;
  /** Asks the browser not to clear what is kept. */
  persist: () => Promise<void>;
  /** Name of this build. */
  app: string;
  /** Names the way of folding, so that another one folds anew; the build where it is not given. */
  foldFormat?: string;
}

/** Put in by the build. */
declare const __FOLD_FORMAT__: string | undefined;

export function browserSurroundings(app: string): Surroundings {
  return {
    now: () => Date.now(),
    randomBytes: (count) => crypto.getRandomValues(new Uint8Array(count)),
    random: () => Math.random(),
    wait,
    seams: {},
    locks: globalThis.navigator?.locks ?? null,
    door: doorOf,
    neighbours: overChannel,
    goodMoments,
    persist: async () => {
      await globalThis.navigator?.storage?.persist?.();
    },
    app,
    ...(typeof __FOLD_FORMAT__ === "string" ? { foldFormat: __FOLD_FORMAT__ } : {}),
  };
}

function wait(ms: number, signal: AbortSignal): Promise<void> {
  return new Promise((resolve) => {
    const done = (): void => {
      clearTimeout(timer);
      signal.removeEventListener("abort", done);
      resolve();
    };
    const timer = setTimeout(done, ms);
    signal.addEventListener("abort", done);
    if (signal.aborted) done();
  });
}

function overChannel(name: string, heard: () => void): Neighbours {
  if (typeof BroadcastChannel === "undefined") return { tell: () => undefined, close: () => undefined };
  const channel = new BroadcastChannel(name);
  channel.onmessage = heard;
  return { tell: () => channel.postMessage("changed"), close: () => channel.close() };
}

function goodMoments(fn: () => void): () => void {
  const page = globalThis.document as Document | undefined;
  const seen = (): void => {
    if (page?.visibilityState === "visible") fn();
  };
  globalThis.addEventListener?.("online", fn);
  page?.addEventListener("visibilitychange", seen);
  return () => {
    globalThis.removeEventListener?.("online", fn);
    page?.removeEventListener("visibilitychange", seen);
  };
}
