"""Phones whose clock is wrong, and phones that were away for months.

The clock that stands for theirs also stamps the events, so that a touch would seem to take no time
and be refused as a drop of water: these phones are pressed with a mouse.
"""

import re

from playwright.sync_api import expect

from tests.browser.stocking import CELLAR, today


def test_a_phone_set_to_2031(store, new_phone, pairing_code, api, ana):
    store.crate("12", 10)
    ben = new_phone()
    ben.touch = False
    ben.page.clock.set_fixed_time("2031-03-03T10:00:00Z")
    ben.pair(pairing_code("Ben"))
    ben.open_crate("12", CELLAR)
    ben.went_through_all(rotten=1)
    ben.tap("Save: 9 good, 1 rot")
    ben.said("Saved on this phone: Crate 12: 9 left, 1 rot.")
    ben.unsent(0)
    ben.tap(ben.strip)
    ben.sees(
        re.compile("^This phone says .*March 3, 2031. What you write is kept, and filed under")
    )
    ben.shot("0-the-phone-says-2031")

    [check] = api.rows("checks")
    assert today().isoformat() == check["on"]
    assert ["date_clamped"] == [one["code"] for one in api.rows("problems")]

    ana.fetch_news()
    ana.go("/doubts")
    ana.tap(re.compile("a day that had not come yet"))
    expect(ana.page.get_by_role("article")).to_contain_text("Ben, helper")
    ana.shot("1-a-day-that-had-not-come", whole=True)
    ana.tap("Write that day into the entry")
    ana.sees("Everything written down adds up.")
    ana.unsent(0)

    assert [] == api.rows("problems")
    [check] = api.rows("checks")
    assert (today().isoformat(), 9) == (check["on"], api.rows("lots")[0]["balance"])


def test_months_in_airplane_mode(store, new_phone, start_link, api):
    store.crate("12", 10)
    ana = new_phone()
    ana.touch = False
    ana.page.clock.set_fixed_time("2026-07-01T10:00:00Z")
    ana.enter(start_link())
    ana.offline()
    for month in (7, 8, 9):
        ana.page.clock.set_fixed_time(f"2026-{month:02}-15T10:00:00Z")
        ana.reload()
        ana.open_crate("12", CELLAR)
        ana.tap(re.compile("^Rot"))
        ana.tap(re.compile("^Save: 1 rot"))
        ana.said(re.compile("^Saved on this phone: Crate 12: "))
    ana.unsent(3)
    ana.tap(ana.strip)
    ana.sees(re.compile("^3 entries have been only on this phone for 62 days"))
    ana.shot("1-months-away", whole=True)

    ana.page.clock.set_fixed_time(f"{today()}T12:00:00Z")
    ana.online()
    ana.unsent(0)

    assert ["2026-07-15", "2026-08-15", "2026-09-15"] == sorted(
        check["on"] for check in api.rows("checks")
    )
    assert 3 == sum(line["removed"]["rot"] for one in api.rows("checks") for line in one["lines"])
