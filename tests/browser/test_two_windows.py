"""One farm open in two windows of a phone."""

import re

from playwright.sync_api import expect

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
