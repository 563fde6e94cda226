"""The service worker as a person meets it: first load, no network, a newer build arriving.

Served by the real application (policy, WhiteNoise, page for every address) in a thread.
"""

import re

import pytest
from playwright.sync_api import BrowserContext, Error, Page, expect

from tests.browser.build_worker import in_charge, look_for_update, take_over
from tests.browser.site import BUILT, Site


def open_app(page: Page, address: str) -> None:
    page.goto(address)
    in_charge(page)


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

    assert "installed" == look_for_update(page)
    assert "3" == page.locator("html").get_attribute("data-unsent")  # not reloaded

    context.set_offline(offline=True)
    page.reload()
    assert not is_newer(page)  # the old build still opens, whole
    expect(page.locator("#app")).not_to_be_empty()

    page.evaluate("() => { document.documentElement.dataset.unsent = '3'; }")
    page.wait_for_load_state("networkidle")  # a worker that still answers is not replaced
    take_over(page)
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
    look_for_update(page)
    take_over(page)
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

    assert "redundant" == look_for_update(page)
    context.set_offline(offline=True)
    page.reload()
    assert not is_newer(page)

    context.set_offline(offline=False)
    site.bring_newer_page()
    assert "installed" == look_for_update(page)
