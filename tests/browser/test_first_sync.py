"""A large farm comes to a new phone: page by page, told on the screen, broken off, and gone on with."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any
from urllib.parse import parse_qs, urlsplit

from playwright.sync_api import Route, expect

from tests.browser.rig import Phone
from tests.browser.stocking import Store, ago

CRATES = 400
CHECKS_EACH = 6
PAGE = 500
PAGES_BEFORE_THE_BREAK = 3


def _fill(store: Store) -> int:
    """Crates with their number, a found lot each, and checks; how many entries."""
    raws: list[bytes] = []
    now = store.now()

    def tell(kind: str, body: dict[str, Any], **more: Any) -> None:
        raws.append(store.phone.raw(kind, body, occurred_on=ago(20), recorded_at=now, **more))

    for number in range(1, CRATES + 1):
        crate, lot = (f"{sort:08x}-0000-4000-8000-{number:012x}" for sort in (1, 2))
        told = {"table": "crates", "row": crate, "field": "number", "value": str(number)}
        tell("field_set", told, stamp=[now, number])
        tell("found", {"lot": lot, "unit": "tuber", "count": 20, "container": crate})
        for _ in range(CHECKS_EACH):
            tell("checked", {"crate": crate, "look": "top", "lines": [{"lot": lot}]})
    for start in range(0, len(raws), 200):
        store.phone.append(*raws[start : start + 200], now=now)
    return len(raws)


class Line:
    """The connection of one phone: it breaks after so many pages, until it is mended."""

    def __init__(self, phone: Phone, pages: int) -> None:
        self.left = pages
        self.after: list[int] = []
        phone.context.route(re.compile(r"/sync/v1/pull"), self._pull)

    def _pull(self, route: Route) -> None:
        if self.left == 0:
            route.abort("internetdisconnected")
            return
        self.left -= 1
        [after] = parse_qs(urlsplit(route.request.url).query)["after"]
        self.after.append(int(after.split(":")[0]))
        route.continue_()

    def mend(self) -> None:
        self.left = -1
        self.after.clear()


def test_a_first_fetch_that_breaks_off_says_how_far_it_is_and_goes_on_from_there(
    store: Store,
    new_phone: Callable[..., Phone],
    pairing_code: Callable[[str], str],
    watcher: Any,
) -> None:
    watcher.expect("net::ERR_")
    entries = _fill(store)
    ana = new_phone()
    line = Line(ana, PAGES_BEFORE_THE_BREAK)
    ana.pair(pairing_code("Ana"))
    held = PAGES_BEFORE_THE_BREAK * PAGE
    progress = ana.page.get_by_text(f"{held:,} of {entries:,} entries")
    expect(progress).to_be_visible(timeout=60_000)
    ana.shot("broken-off")

    # What can be done meanwhile: stop, look at what is here, write.
    ana.follow("/todo")
    expect(progress).to_be_visible()
    ana.sees(re.compile("No connection"))
    ana.tap("Stop for now")
    ana.sees(re.compile("^Stopped"))
    ana.tap("Go on copying")
    ana.sees(re.compile("No connection"))
    ana.shot("no-connection")
    assert [0, 500, 1000] == line.after

    # The app is closed and opened again where there is signal.
    line.mend()
    ana.new_page()
    ana.go("/phone")
    safe = ana.page.get_by_text(re.compile("^Everything on this phone is safe .* Last sent "))
    expect(safe).to_be_visible(timeout=60_000)
    assert held == line.after[0], "what was here was fetched again"
    expect(ana.page.get_by_text("Copying your stock to this phone")).to_have_count(0)

    # All of it is here without a network, after one more start.
    ana.offline()
    ana.new_page()
    ana.go("/stock")
    expect(ana.page.get_by_text(re.compile(f"^{CRATES}$")).first).to_be_visible()
    kept = ana.page.evaluate(
        """async () => {
          const [{ name }] = (await indexedDB.databases()).filter((one) => /^winter-tally-/.test(one.name));
          const db = await new Promise((yes, no) => {
            const asked = indexedDB.open(name);
            asked.onsuccess = () => yes(asked.result);
            asked.onerror = () => no(asked.error);
          });
          const count = (store) => new Promise((yes) => {
            const asked = db.transaction(store).objectStore(store).count();
            asked.onsuccess = () => yes(asked.result);
          });
          const counted = [await count("records"), await count("segments")];
          db.close();
          return counted;
        }"""
    )
    assert entries == kept[0]
    assert kept[1] > 0, "nothing was kept of what was folded"
