"""How many touches the common things cost, counted by the page itself.

The budgets are the project's own, set before the screens were made: one-digit counts, no discards,
degrees Celsius. Scanning costs no touch.
"""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.stocking import CELLAR, VARIETY


@pytest.fixture
def crate_12(store, api, ana):
    """Crate 12 with 34 tubers, its label just scanned: the check stands open."""
    [code] = api.post("/api/labels/blanks/", {"count": 1})["codes"]
    store.crate("12", 34, code=code)
    ana.fetch_news()
    ana.follow(f"/scan?code={code}")
    expect(ana.drawer).to_contain_text("Crate 12")
    ana.from_here()
    return ana


def test_a_check_where_nothing_changed_is_one_touch_and_so_is_its_undo(crate_12):
    crate_12.tap("Looked on top: nothing bad")
    crate_12.said(re.compile("^Saved on this phone: Crate 12"))
    assert 1 == crate_12.touches()

    crate_12.from_here()
    crate_12.tap("Undo")
    crate_12.said("Undone: Crate 12 is back to 34.")
    assert 1 == crate_12.touches()


def test_two_rotted_are_three_touches(crate_12):
    crate_12.tap_each("Rot", re.compile("^Rot"), re.compile("^Save: 2 rot"))
    crate_12.said(re.compile("^Saved on this phone: Crate 12: 32 left, 2 rot"))
    assert 3 == crate_12.touches()


def test_a_recount_to_31_is_five_touches(crate_12):
    crate_12.tap_each(re.compile("^34 .*count again"), "3", "1", "Done", "Save: 31 counted")
    crate_12.said(re.compile("^Saved on this phone: Crate 12: 31 counted"))
    assert 5 == crate_12.touches()


def test_a_round_starts_within_eight_touches(store, ana, api):
    store.crate("12", 34)
    ana.fetch_news()
    ana.follow(f"/round?place={store.rows['places', CELLAR]}")  # its label was scanned
    expect(ana.page.get_by_role("heading", name=f"Round in {CELLAR}")).to_be_visible()
    ana.from_here()
    ana.tap_each("6", ".", "5", "Next", "8", "4")
    ana.shot("1-round-start")
    ana.tap("Start the round")
    ana.said(f"Saved on this phone: round in {CELLAR}.")
    assert ana.touches() <= 8
    ana.unsent(0)
    [reading] = api.rows("readings")
    assert (6500, 84000) == (reading["temp_milli_c"], reading["rh_milli_pct"])


def test_dividing_a_clump_is_six_touches(store, ana, api):
    tray = store.row("crates", "T1", "number")
    clumps = "00000000-0000-4000-8000-00000000c001"
    store.write(
        "dug",
        {"lots": [{"lot": clumps, "count": 3}], "variety": store.row("varieties", VARIETY)},
    )
    ana.fetch_news()
    # The first of the day chooses the tray and the way of counting; both stay chosen.
    ana.follow(f"/divide?lot={clumps}")
    ana.tap("Clump by clump")
    ana.tap("Choose tray")
    ana.choose("Tray in use", "Crate T1")
    ana.tap_each("6", "Next", "1", "Next", "2", "Save")
    ana.said(re.compile("^Saved on this phone: "))

    ana.follow("/todo")
    ana.follow(f"/divide?lot={clumps}")
    ana.sees("One clump of 2 left in this batch.")
    ana.from_here()
    ana.tap_each("6", "Next", "1", "Next", "2")
    ana.shot("1-divide")
    ana.tap("Save")
    ana.sees("One clump of 1 left in this batch.")
    assert 6 == ana.touches()
    ana.unsent(0)
    kept: dict[str, int] = {}
    for lot in api.rows("lots", unit="tuber", crate=tray):
        kept[lot["eyes"]] = kept.get(lot["eyes"], 0) + lot["balance"]
    assert {"showing": 12, "unsure": 2} == kept


def test_labels_on_the_stock_used_before_are_two_touches(store, ana, api):
    store.crate("1", 8)
    ana.fetch_news()
    ana.follow("/labels")
    ana.page.get_by_role("combobox", name="Labels in the printer").select_option("a4-21")
    with ana.page.expect_download():
        ana.tap(re.compile("^Make PDF: "))
    ana.tap("Yes, clear queue")
    ana.said("Saved on this phone: 1 label printed.")

    store.crate("2", 6)
    ana.fetch_news()
    ana.follow("/labels")
    expect(ana.find(re.compile("^Make PDF: 1 label"))).to_be_enabled()
    ana.from_here()
    with ana.page.expect_download():
        ana.tap(re.compile("^Make PDF: 1 label"))
    ana.tap("Yes, clear queue")
    ana.said("Saved on this phone: 1 label printed.")
    assert 2 == ana.touches()


def test_what_is_not_sent_is_one_touch_away_and_sending_it_two(crate_12):
    crate_12.offline()
    crate_12.tap("Looked on top: nothing bad")
    crate_12.unsent(1)
    crate_12.from_here()
    crate_12.tap(crate_12.strip)
    crate_12.sees(re.compile("^1 entry is only on this phone"))
    assert 1 == crate_12.touches()
    crate_12.context.set_offline(offline=False)
    crate_12.tap("Send now")
    crate_12.unsent(0)
    assert 2 == crate_12.touches()
