/** One browser of the model farm: a disk, windows on it, and the model server behind its network. */
import { randomBytes } from "node:crypto";
import { freshDisk, type Seams } from "../../store/testing/fake.ts";
import type { Door } from "../http-transport.ts";
import type { Surroundings } from "../surroundings.ts";
import type { ModelServer } from "./model-server.ts";
import type { Answer, PushRequest } from "../transport.ts";

export class Browser {
  readonly disk: Seams = freshDisk();
  online = true;
  app = "1";
  readonly asked: { path: string; token: string }[] = [];
  private readonly windows = new Map<object, () => void>();
  private readonly moments = new Set<() => void>();
  private readonly held = new Map<string, Promise<unknown>>();

  constructor(readonly server: ModelServer) {}

  /** What one more window finds around it. */
  surroundings(): Surroundings {
    return {
      now: () => this.server.now,
      randomBytes: (count) => new Uint8Array(randomBytes(count)),
      random: () => 0.5,
      wait: (_ms, signal) => new Promise((resolve) => signal.addEventListener("abort", () => resolve())),
      seams: this.disk,
      locks: this.locks(),
      door: (token) => this.door(token),
      neighbours: (_name, heard) => {
        const self = {};
        this.windows.set(self, heard);
        return {
          tell: () => {
            for (const [other, listener] of this.windows) if (other !== self) listener();
          },
          close: () => this.windows.delete(self),
        };
      },
      goodMoments: (fn) => {
        this.moments.add(fn);
        return () => this.moments.delete(fn);
      },
      persist: () => Promise.resolve(),
      app: this.app,
    };
  }

  goOnline(): void {
    this.online = true;
    for (const fn of this.moments) fn();
  }

  private door(token: () => string): Door {
    return {
      ask: (path, init) => {
        if (!this.online) return Promise.reject(new TypeError("no network"));
        
        this.asked.push({ path, token: token() });
        return Promise.resolve(this.answer(path, init));
      },
    };
  }

  private answer(path: string, init?: RequestInit): Response {
    const url = new URL(path, "https://farm.example");
    if (url.pathname === "/sync/v1/push") {
      return reply(this.server.push(JSON.parse(init?.body as string) as PushRequest), (body) => body);
    }
    if (url.pathname === "/sync/v1/pull") {
      const [seq = "", chain = ""] = (url.searchParams.get("after") ?? "").split(":");
      const limit = Number(url.searchParams.get("limit"));
      return reply(this.server.pull({ seq: Number(seq), chain }, limit), ({ entries, head }) => ({
        entries,
        head: [head.seq, head.chain],
      }));
    }
    return Response.json({ code: "not_found", message: "There is no such page." }, { status: 404 });
  }

  /** Web Locks as far as the sync needs them: one holder of a name, the others in line. */
  private locks(): LockManager {
    const request = async (name: string, options: { signal?: AbortSignal }, act: () => Promise<unknown>) => {
      const before = this.held.get(name) ?? Promise.resolve();
      const mine = before.catch(() => undefined).then(() => {
        options.signal?.throwIfAborted();
        return act();
      });
      this.held.set(name, mine);
      return mine;
    };
    return { request } as unknown as LockManager;
  }
}

function reply<T>(answer: Answer<T>, told: (body: T) => unknown): Response {
  if (!answer.refused) return Response.json(told(answer.body));
  const headers: HeadersInit = answer.retryAfterMs === null ? {} : { "Retry-After": String(answer.retryAfterMs / 1000) };
  return Response.json({ code: answer.code, message: "" }, { status: answer.status, headers });
}
