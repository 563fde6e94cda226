/**
 * Keeps the whole app on the device, so that it opens where there is no signal.
 *
 * A new build is fetched beside the old one and waits; it takes over only when the page says so
 * ({ type: "take-over" }) or when no page is open any more. Nothing here touches entries: they
 * live in IndexedDB and are sent by the page.
 */
/// <reference lib="webworker" />
declare const self: ServiceWorkerGlobalScope;

const CACHE_PREFIX = "app-";
const CACHE = `${CACHE_PREFIX}__VERSION__`;
const FILES = "__FILES__" as unknown as Readonly<Record<string, string>>;
const PAGE = "/";
/** First parts of addresses that belong to the server (the same list as in config/spa.py). */
const SERVER = /^\/(?:api|sync|blob|admin|static|trust|schema|start)(?:\/|$)/;

self.addEventListener("install", (event) => {
  event.waitUntil(fill());
});

self.addEventListener("activate", (event) => {
  event.waitUntil(takeCharge());
});

self.addEventListener("message", (event) => {
  if ((event.data as { type?: unknown } | null)?.type === "take-over") void self.skipWaiting();
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin) return;
  if (SERVER.test(url.pathname)) return;
  if (event.request.mode === "navigate" && !url.pathname.includes(".")) {
    event.respondWith(kept(PAGE, event.request));
  } else if (url.pathname in FILES || url.pathname.startsWith("/assets/")) {
    event.respondWith(kept(url.pathname, event.request));
  }
});

/** Every file of this build is in the cache, with the contents that the build had; or it fails. */
async function fill(): Promise<void> {
  const cache = await caches.open(CACHE);
  await Promise.all(
    Object.entries(FILES).map(async ([path, hash]) => {
      const have = path.startsWith("/assets/") ? await caches.match(path) : undefined;
      if (have && (await hashOf(have)) === hash) {
        await cache.put(path, have);
        return;
      }
      const response = await fetch(path, { cache: "no-cache", credentials: "same-origin" });
      // A server in the middle of an update answers with a mixture: leave it, try again later.
      if (!response.ok || response.redirected || (await hashOf(response)) !== hash) {
        throw new Error(`${path} is not the file of this build`);
      }
      await cache.put(path, response);
    }),
  );
}

async function hashOf(response: Response): Promise<string> {
  const digest = await crypto.subtle.digest("SHA-256", await response.clone().arrayBuffer());
  return Array.from(new Uint8Array(digest), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** The build before this one stays: another page may still be open on it and need a part. */
async function takeCharge(): Promise<void> {
  const builds = (await caches.keys()).filter((name) => name.startsWith(CACHE_PREFIX));
  const before = builds.filter((name) => name !== CACHE).at(-1);
  await Promise.all(
    builds.filter((name) => name !== CACHE && name !== before).map((name) => caches.delete(name)),
  );
  await self.clients.claim();
}

async function kept(path: string, request: Request): Promise<Response> {
  const cache = await caches.open(CACHE);
  return (await cache.match(path)) ?? (await caches.match(path)) ?? fetch(request);
}

export {};
