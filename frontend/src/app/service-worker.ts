/** How the page meets the service worker. It never reloads by itself: a drawer may be open. */

const HOUR_MS = 3_600_000;

/**
 * Registers the worker. `onWaiting` is called when a newer build is complete on this device and
 * waits; its argument lets that build take over, and resolves when it is in charge, or after ten
 * seconds. The page shows the old build until it is loaded again: do that when the person asks.
 */
export function registerServiceWorker(onWaiting: (takeOver: () => Promise<void>) => void): void {
  if (!import.meta.env.PROD || !("serviceWorker" in navigator)) return;
  void navigator.serviceWorker
    .register("/sw.js", { updateViaCache: "none" })
    .then((registration) => {
      watch(registration, onWaiting);
    })
    .catch((error: unknown) => {
      // Without a worker everything works but opening the app without a network.
      console.warn("The app could not be kept on this device for offline use.", error);
    });
}

function watch(
  registration: ServiceWorkerRegistration,
  onWaiting: (takeOver: () => Promise<void>) => void,
): void {
  const tell = (worker: ServiceWorker): void => {
    // Without a controller this is the first build on this device: nothing to replace.
    if (navigator.serviceWorker.controller) {
      onWaiting(() => takeOver(worker));
    }
  };
  const follow = (worker: ServiceWorker | null): void => {
    worker?.addEventListener("statechange", () => {
      if (worker.state === "installed") tell(worker);
    });
  };
  if (registration.waiting) tell(registration.waiting);
  follow(registration.installing);
  registration.addEventListener("updatefound", () => {
    follow(registration.installing);
  });
  lookForUpdates(registration);
}

/** An installed app is seldom loaded anew, so it asks when it comes to the front, once an hour. */
function lookForUpdates(registration: ServiceWorkerRegistration): void {
  let lookedAt = Date.now();
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState !== "visible" || Date.now() - lookedAt < HOUR_MS) return;
    lookedAt = Date.now();
    registration.update().catch(() => undefined); // no network: the next time will do
  });
}

const ASK_AGAIN_MS = 1_000;
const PATIENCE_MS = 10_000;

/**
 * Asks the newer build to take over until it has; a worker that was just stopped may miss a message.
 * One that still answers for a page is not replaced at once: after ten seconds the page is loaded
 * anew all the same, which ends what it waits for.
 */
function takeOver(worker: ServiceWorker): Promise<void> {
  return new Promise((resolve) => {
    const ask = (): void => {
      worker.postMessage({ type: "take-over" });
    };
    const again = setInterval(ask, ASK_AGAIN_MS);
    const done = (): void => {
      clearInterval(again);
      clearTimeout(enough);
      resolve();
    };
    const enough = setTimeout(done, PATIENCE_MS);
    navigator.serviceWorker.addEventListener("controllerchange", done, { once: true });
    ask();
  });
}
