"""The service worker as a page sees it: in charge, looking for a newer build, giving way to it.

Nothing waits without end: after a minute a failure says which worker is in which state.
"""

from playwright.sync_api import Page

_STANDING = """
  const state = (worker) => worker?.state ?? "none";
  const standing = async () => {
    const [one, held] = await Promise.all(
      [navigator.serviceWorker.getRegistration(), caches.keys()]);
    return `installing: ${state(one?.installing)}, waiting: ${state(one?.waiting)}, ` +
      `active: ${state(one?.active)}, in charge: ${state(navigator.serviceWorker.controller)}, ` +
      `kept: ${held.join(" ")}, online: ${navigator.onLine}`;
  };
  const after = (ms, told) => new Promise((yes) => setTimeout(() => yes(told), ms));
  const bounded = async (what, wait) => {
    const TOO_LONG = {};
    const told = await Promise.race([wait(), after(60_000, TOO_LONG)]);
    if (told !== TOO_LONG) return told;
    const seen = await Promise.race([standing(), after(5_000, "the browser does not say")]);
    throw new Error(`a minute of waiting for ${what}; ${seen}`);
  };
  const once = (target, event) => new Promise((yes) =>
    target.addEventListener(event, yes, { once: true }));
  const leaves = async (worker, states) => {
    while (states.includes(worker.state)) await once(worker, "statechange");
    return worker.state;
  };
"""
_IN_CHARGE = """
  await bounded("a first worker in charge", async () => {
    const inCharge = once(navigator.serviceWorker, "controllerchange");
    await navigator.serviceWorker.ready;
    if (!navigator.serviceWorker.controller) await inCharge;
  });
"""
_LOOK = """
  const registration = await bounded("the registration", () =>
    navigator.serviceWorker.getRegistration());
  await bounded("the answer whether there is an update", () => registration.update());
  const worker = registration.installing ?? registration.waiting;
  if (!worker) return "none";
  return bounded("the newer build to be complete", () => leaves(worker, ["installing"]));
"""
_TAKE_OVER = """
  const { waiting } = await bounded("the registration", () =>
    navigator.serviceWorker.getRegistration());
  const inCharge = once(navigator.serviceWorker, "controllerchange");
  const ask = () => waiting.postMessage({ type: "take-over" });
  const again = setInterval(ask, 1000);
  ask();
  try {
    await bounded("the newer build to be in charge", () => inCharge);
  } finally {
    clearInterval(again);
  }
  await bounded("the newer build to be ready", () =>
    leaves(waiting, ["installed", "activating"]));
"""


def in_charge(page: Page) -> None:
    """The page has a worker, so that it opens without a network from now on."""
    page.evaluate(_function(_IN_CHARGE))


def look_for_update(page: Page) -> str:
    """Asks the server for a newer build: its state once it is complete or given up, or "none"."""
    return str(page.evaluate(_function(_LOOK)))


def take_over(page: Page) -> None:
    """Lets the waiting build in, as the app does: asks until it is in charge."""
    page.evaluate(_function(_TAKE_OVER))


def _function(body: str) -> str:
    return f"async () => {{ {_STANDING} {body} }}"
