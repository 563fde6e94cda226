"""The service worker as a person meets it: first load, no network, a newer build arriving.

Served by the real application (policy, WhiteNoise, page for every address) in a thread.
"""

import re

import pytest
from playwright.sync_api import BrowserContext, Error, Page, expect

from tests.browser.site import BUILT, Site

IN_CHARGE = """async () => {
  const inCharge = new Promise((yes) => navigator.serviceWorker.addEventListener(
    "controllerchange", yes, { once: true }));
  await navigator.serviceWorker.ready;
  if (!navigator.serviceWorker.controller) await inCharge;
}"""
LOOK_FOR_UPDATE = """async () => {
  const registration = await navigator.serviceWorker.getRegistration();
  await registration.update();
  const worker = registration.installing ?? registration.waiting;
  if (!worker) return "none";
  while (worker.state === "installing") {
    await new Promise((yes) => worker.addEventListener("statechange", yes, { once: true }));
  }
  return worker.state;
}"""
TAKE_OVER = """async () => {
  const { waiting } = await navigator.serviceWorker.getRegistration();
  const inCharge = new Promise((yes) => navigator.serviceWorker.addEventListener(
    "controllerchange", yes, { once: true }));
  const ask = () => waiting.postMessage({ type: "take-over" });
  const again = setInterval(ask, 1000);
  const tooLong = new Promise((_, no) => setTimeout(
    () => no(new Error(`after a minute the newer build is ${waiting.state}`)), 60000));
  ask();
  try {
    await Promise.race([inCharge, tooLong]);
  } finally {
    clearInterval(again);
  }
  while (waiting.state !== "activated") {
    await new Promise((yes) => waiting.addEventListener("statechange", yes, { once: true }));
  }
}"""


def open_app(page: Page, address: str) -> None:
    page.goto(address)
    page.evaluate(IN_CHARGE)


def is_newer(page: Page) -> bool:
    return page.locator('meta[name="build"]').count() == 1


def test_after_the_first_load_every_address_opens_without_a_network(
    page: Page, context: BrowserContext, address: str
) -> None:
    open_app(page, address)
    context.set_offline(offline=True)

    for part in ("/", "/todo", "/stock", "/a/deep/link?with=words"):
        page.goto(address + part)
        expect(page.locator("#app")).not_to_be_empty()


def test_every_file_of_the_build_is_kept(page: Page, address: str) -> None:
    open_app(page, address)

    kept = page.evaluate(
        """async () => {
          const [name] = await caches.keys();
          const requests = await (await caches.open(name)).keys();
          return requests.map((each) => new URL(each.url).pathname);
        }"""
    )
    built = {
        "/" if path.name == "index.html" else f"/{path.relative_to(BUILT).as_posix()}"
        for path in BUILT.rglob("*")
        if path.is_file() and path.suffix not in {".br", ".gz", ".woff"}
    }
    assert built - {"/sw.js", "/robots.txt"} == set(kept)


def test_the_servers_addresses_are_never_answered_from_the_device(
    page: Page, context: BrowserContext, address: str
) -> None:
    open_app(page, address)
    context.set_offline(offline=True)

    for part in ("/api/schema/", "/sync/v1/pull", "/blob/x", "/trust", "/start/x", "/static/x.css"):
        assert "no network" == page.evaluate(
            "(part) => fetch(part).then(() => 'answered', () => 'no network')", part
        )
    for part in ("/start/x", "/trust", "/admin/", "/api/schema/"):
        with pytest.raises(Error, match="ERR_INTERNET_DISCONNECTED"):
            page.goto(address + part)


def test_the_page_asks_no_other_host_and_breaks_no_policy(page: Page, address: str) -> None:
    asked: list[str] = []
    said: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))

    open_app(page, address)

    assert [] == [url for url in asked if not url.startswith((address, "blob:", "data:"))]
    assert [] == [text for text in said if "Content Security Policy" in text]


def test_a_newer_build_waits_until_the_page_lets_it_in(
    page: Page, context: BrowserContext, site: Site, address: str
) -> None:
    open_app(page, address)
    page.evaluate("() => { document.documentElement.dataset.unsent = '3'; }")
    site.bring_newer_page()
    site.bring_newer_worker()

    assert "installed" == page.evaluate(LOOK_FOR_UPDATE)
    assert "3" == page.locator("html").get_attribute("data-unsent")  # not reloaded

    context.set_offline(offline=True)
    page.reload()
    assert not is_newer(page)  # the old build still opens, whole
    expect(page.locator("#app")).not_to_be_empty()

    page.evaluate("() => { document.documentElement.dataset.unsent = '3'; }")
    page.wait_for_load_state("networkidle")  # a worker that still answers is not replaced
    page.evaluate(TAKE_OVER)
    assert "3" == page.locator("html").get_attribute("data-unsent")  # still not reloaded

    page.reload()
    assert is_newer(page)
    expect(page.locator("#app")).not_to_be_empty()


def test_another_page_that_is_open_on_the_old_build_keeps_its_parts(
    page: Page, context: BrowserContext, site: Site, address: str
) -> None:
    open_app(page, address)
    other = context.new_page()
    open_app(other, address)
    part = re.search(r'src="(/assets/[^"]+\.js)"', site.old_page)
    assert part
    site.bring_newer_page()
    site.bring_newer_worker(without=part[1])
    page.evaluate(LOOK_FOR_UPDATE)
    page.evaluate(TAKE_OVER)
    (site.folder / part[1].lstrip("/")).unlink()  # the server has the newer build alone
    context.set_offline(offline=True)

    # no-store: the browser's own cache must not answer in the worker's place
    assert 200 == other.evaluate(
        "(part) => fetch(part, { cache: 'no-store' }).then((each) => each.status)", part[1]
    )


def test_a_server_in_the_middle_of_an_update_leaves_the_old_build_in_charge(
    page: Page, context: BrowserContext, site: Site, address: str
) -> None:
    open_app(page, address)
    site.bring_newer_worker()  # but not its page yet

    assert "redundant" == page.evaluate(LOOK_FOR_UPDATE)
    context.set_offline(offline=True)
    page.reload()
    assert not is_newer(page)

    context.set_offline(offline=False)
    site.bring_newer_page()
    assert "installed" == page.evaluate(LOOK_FOR_UPDATE)
