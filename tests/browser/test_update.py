"""A newer build arrives while the old one is open, with unsent entries and a check half filled in."""

import re

from playwright.sync_api import expect

from tests.browser.build_worker import look_for_update
from tests.browser.stocking import CELLAR
from tests.browser.test_service_worker import is_newer


def test_nothing_is_lost_and_nothing_reloads_by_itself(store, ana, api, site, watcher):
    store.crate("11", 20)
    store.crate("12", 10)
    ana.fetch_news()
    watcher.expect("status of 503")
    site.gate.closed = True
    ana.open_crate("11", CELLAR)
    ana.went_through_all(rotten=1)
    ana.tap("Save: 19 good, 1 rot")
    ana.unsent(1)
    ana.open_crate("12", CELLAR)
    ana.went_through_all(rotten=2)
    ana.page.evaluate("() => { window.__sameDocument = true; }")

    site.bring_newer_page()
    site.bring_newer_worker()
    assert "installed" == look_for_update(ana.page)
    expect(ana.drawer).to_contain_text("Save: 8 good, 2 rot")
    assert ana.page.evaluate("() => window.__sameDocument === true")
    ana.shot("1-newer-build-is-there")

    ana.tap("Close", within=ana.drawer)
    ana.tap(ana.strip)
    ana.sees("A new version is ready.")
    ana.shot("2-a-new-version-is-ready")
    assert not is_newer(ana.page)
    ana.tap(re.compile("^Use it now"))
    expect(ana.page.locator('meta[name="build"]')).to_have_count(1)

    ana.unsent(1)
    ana.open_crate("12", CELLAR)
    expect(ana.drawer).to_contain_text("Save: 8 good, 2 rot")
    ana.tap("Save: 8 good, 2 rot")
    ana.unsent(2)
    site.gate.closed = False
    ana.tap(ana.strip)
    ana.tap("Send now")
    ana.unsent(0)
    assert 2 == len(api.rows("checks"))
