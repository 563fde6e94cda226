import { afterEach, expect, test, vi } from "vitest";
import { CHAIN_START } from "../core/sync/chain.ts";
import { doorOf, httpTransport } from "./http-transport.ts";
import { NoAnswer } from "./transport.ts";

afterEach(() => {
  vi.unstubAllGlobals();
});

/** The browser's network answers each request with `reply`. */
function network(reply: () => Response | Promise<Response>): { path: string; init: RequestInit }[] {
  const asked: { path: string; init: RequestInit }[] = [];
  vi.stubGlobal("fetch", (path: string, init: RequestInit) => {
    asked.push({ path, init });
    return Promise.resolve().then(reply);
  });
  return asked;
}

const start = { seq: 0, chain: CHAIN_START };
const wire = httpTransport(doorOf(() => "secret"));

test("a pull asks after number and chain, with the device's token and past every cache", async () => {
  const asked = network(() => Response.json({ entries: [], head: [0, CHAIN_START], server_time: 1 }));
  expect(await wire.pull({ seq: 7, chain: "ab".repeat(16) }, 500)).toEqual({
    refused: false,
    body: { entries: [], head: start },
  });
  expect(asked[0]?.path).toBe(`/sync/v1/pull?after=7:${"ab".repeat(16)}&limit=500`);
  expect(new Headers(asked[0]?.init.headers).get("Authorization")).toBe("Bearer secret");
  expect(asked[0]?.init.cache).toBe("no-store");
});

test("a push carries each entry as its own text", async () => {
  const asked = network(() => Response.json({ verdicts: [], head: [0, CHAIN_START], server_time: 1 }));
  await wire.push({ app: "1", protocol: 1, device: "d", records: ['{"a":1}'] });
  expect(JSON.parse(asked[0]?.init.body as string)).toEqual({
    app: "1", protocol: 1, device: "d", records: ['{"a":1}'],
  });
});

test.each<[string, () => Response | Promise<Response>]>([
  ["no network", () => Promise.reject(new TypeError("failed"))],
  ["a torn answer", () => new Response('{"entries": [', { status: 200 })],
  ["an answer of something else", () => Response.json({ hello: 1 })],
  ["a page of a wireless network's own", () => new Response("<html>", { status: 200 })],
  ["a head that is none", () => Response.json({ entries: [], head: ["1", "x"] })],
])("%s is no answer", async (_, reply) => {
  network(reply);
  await expect(wire.pull(start, 500)).rejects.toBeInstanceOf(NoAnswer);
});

test("a refusal is told with its code and the time asked for", async () => {
  network(() => Response.json({ code: "busy", message: "…" }, { status: 503, headers: { "Retry-After": "7" } }));
  expect(await wire.pull(start, 500)).toEqual({ refused: true, status: 503, code: "busy", retryAfterMs: 7000 });
  network(() => new Response("<h1>Bad gateway</h1>", { status: 502 }));
  expect(await wire.pull(start, 500)).toEqual({ refused: true, status: 502, code: "", retryAfterMs: null });
});
