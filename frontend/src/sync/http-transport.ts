/** The sync protocol over HTTPS, and the one door to the network for the rest of the app. */
import type { Cursor } from "../store/rows.ts";
import {
  NoAnswer, readPull, readPush,
  type Answer, type PullAnswer, type PushAnswer, type PushRequest, type Told, type Transport,
} from "./transport.ts";

export interface Door {
  /** Rejects when no answer came. */
  ask(path: string, init?: RequestInit): Promise<Response>;
}

/** A megabyte over a poor rural line, body and all; a request that takes longer is given up. */
const TIMEOUT_MS = 180_000;

/** Requests of one device: its token goes with each. */
export function doorOf(token: () => string): Door {
  return {
    ask: async (path, init = {}) => {
      const headers = new Headers(init.headers);
      headers.set("Authorization", `Bearer ${token()}`);
      if (!headers.has("Accept")) headers.set("Accept", "application/json");
      // Not AbortSignal.timeout, which older phones lack. The time covers the body as well.
      const ending = new AbortController();
      const timer = setTimeout(() => ending.abort(), TIMEOUT_MS);
      try {
        return await fetch(path, { signal: ending.signal, ...init, headers, cache: "no-store" });
      } catch (error) {
        clearTimeout(timer);
        throw error;
      }
    },
  };
}

export function httpTransport(door: Door): Transport {
  return {
    push: (request: PushRequest): Promise<Answer<PushAnswer>> =>
      answerOf(readPush, () =>
        door.ask("/sync/v1/push", {
          method: "POST",
          headers: { "Content-Type": "application/json" },
          body: JSON.stringify(request),
        }),
      ),
    pull: (after: Cursor, limit: number, told?: Told): Promise<Answer<PullAnswer>> => {
      const self = told ? `&waiting=${told.waiting}&app=${encodeURIComponent(told.app)}` : "";
      return answerOf(readPull, () => door.ask(`/sync/v1/pull?after=${after.seq}:${after.chain}&limit=${limit}${self}`));
    },
  };
}

async function answerOf<T>(read: (value: unknown) => T, ask: () => Promise<Response>): Promise<Answer<T>> {
  let response: Response;
  let value: unknown;
  try {
    response = await ask();
    value = await response.json().catch((error: unknown) => {
      if (response.ok) throw error;
      return null;
    });
  } catch (error) {
    throw new NoAnswer(error);
  }
  if (response.ok) return { refused: false, body: read(value) };
  const code = (value as { code?: unknown } | null)?.code;
  return {
    refused: true,
    status: response.status,
    code: typeof code === "string" ? code : "",
    retryAfterMs: retryAfter(response.headers.get("Retry-After")),
  };
}

function retryAfter(header: string | null): number | null {
  const seconds = Number(header);
  return header !== null && Number.isFinite(seconds) && seconds >= 0 ? seconds * 1000 : null;
}
