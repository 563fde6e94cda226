"""One farm open in two windows of a phone."""

import re
from contextlib import suppress

from playwright.sync_api import Error, expect

from tests.browser.build_worker import look_for_update, take_over
from tests.browser.stocking import CELLAR


def test_what_one_writes_the_other_shows_and_one_alone_sends(store, ana, api):
    store.crate("12", 10)
    ana.fetch_news()
    pushes = []
    ana.context.on(
        "request", lambda request: pushes.append(request) if "/push" in request.url else None
    )
    other = ana.context.new_page()
    other.goto(ana.address + "/todo")
    strip = other.get_by_role("link", name=re.compile("Open the Phone page"))
    expect(strip).to_be_visible()
    ana.page.bring_to_front()
    ana.offline()

    ana.open_crate("12", CELLAR)
    ana.went_through_all(rotten=2)
    ana.tap("Save: 8 good, 2 rot")
    ana.said("Saved on this phone: Crate 12: 8 left, 2 rot.")
    expect(strip).to_have_accessible_name(re.compile("1 only on this phone"))
    pushes.clear()
    ana.online()
    ana.unsent(0)
    expect(strip).to_have_accessible_name(re.compile("all safe"))

    assert 1 == len(pushes)
    assert 1 == len(api.rows("checks"))
    other.goto(ana.address + "/scan/list")
    expect(other.get_by_role("list", name=CELLAR)).to_contain_text("8 tubers")


LOCKS = """async () => {
  const { held, pending } = await navigator.locks.query();
  const of = (locks) => locks.filter((lock) => lock.name.startsWith("tubertrack-sync-")).length;
  return [of(held), of(pending)];
}"""


def test_the_window_that_sends_is_killed_in_mid_push_and_the_other_one_goes_on(
    store, ana, api, site
):
    """A newer build takes over between; each entry is in the log once."""
    numbers = ("11", "12", "13")
    for number in numbers:
        store.crate(number, 10)
    ana.fetch_news()
    ana.offline()
    for number in numbers:
        ana.open_crate(number, CELLAR)
        ana.went_through_all(rotten=2)
        ana.tap("Save: 8 good, 2 rot")
        ana.said(f"Saved on this phone: Crate {number}: 8 left, 2 rot.")
    ana.unsent(3)
    site.gate.swallow_next_answer()
    before = site.gate.seen
    ana.online()
    assert site.gate.swallowed.wait(30), "no push came"
    other = ana.context.new_page()
    other.goto(ana.address + "/todo")
    strip = other.get_by_role("link", name=re.compile("Open the Phone page"))
    expect(strip).to_have_accessible_name(re.compile("3 only on this phone"))
    assert 3 == len(api.rows("checks"))  # stored, though nobody was told
    assert [1, 1] == other.evaluate(LOCKS), "the other one waits for its turn"

    site.bring_newer_page()
    site.bring_newer_worker()
    assert "installed" == look_for_update(other)
    take_over(other)
    assert [1, 1] == other.evaluate(LOCKS)
    assert before + 1 == site.gate.seen

    with ana.page.expect_event("crash"), suppress(Error):
        ana.page.goto("chrome://crash")  # ends the window's own process, without a farewell
    ana.page.close()  # what is left of it
    expect(strip).to_have_accessible_name(re.compile("all safe"), timeout=15_000)
    assert before + 2 == site.gate.seen
    assert 3 == len(api.rows("checks"))
    rows = [row for row in api.rows("records") if row["kind"] == "checked"]
    assert 3 == len({row["sha256"] for row in rows}) == len(rows)
