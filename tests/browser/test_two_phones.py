"""Two people check one crate without a network, and both find the same two rotten ones."""

import re

from playwright.sync_api import expect

from tests.browser.stocking import CELLAR


def check_offline(phone):
    phone.offline()
    phone.open_crate("12", CELLAR)
    phone.went_through_all(rotten=2)
    phone.tap("Save: 8 good, 2 rot")
    phone.said("Saved on this phone: Crate 12: 8 left, 2 rot.")
    phone.unsent(1)


def test_both_stand_and_it_is_cleared_without_a_network(store, ana, ben, api):
    crate = store.crate("12", 10)
    for phone in (ana, ben):
        phone.fetch_news()
        phone.go("/scan/list")
        phone.sees("Crate 12")
        check_offline(phone)

    ana.online()
    ana.unsent(0)
    ben.online()
    ben.unsent(0)

    assert ["Ana", "Ben"] == sorted(
        row["author_name"] for row in api.rows("records", kind="checked")
    )
    [problem] = api.rows("problems")
    assert "check_disagrees" == problem["code"]
    [row] = api.rows("crates")
    assert 6 == row["lots"][0]["balance"]  # both counts stand

    ana.fetch_news()
    ana.go("/todo")
    ana.tap(re.compile("^Doesn't add up"))
    ana.tap(re.compile("went through all and saw 10. By what was written before there were 8."))
    doubt = ana.page.get_by_role("article")
    expect(doubt).to_have_count(1)
    for words in ("10 packed − 2 rot = 8", "Ana, owner", "Ben, helper", "this phone", "Chrome on"):
        expect(doubt).to_contain_text(words)
    side = doubt.get_by_role("listitem").filter(has_text="Ben, helper")
    expect(side).to_contain_text("Afterwards 8, now 6.")
    ana.shot("1-doesnt-add-up", whole=True)

    ana.offline()
    ana.tap(side.get_by_role("button", name="Take it back"))
    ana.said("Saved on this phone: put right.")
    ana.sees("Everything written down adds up.")
    ana.unsent(1)
    ana.shot("2-put-right-offline")
    ana.online()
    ana.unsent(0)

    assert [] == api.rows("problems")
    [row] = api.rows("crates")
    assert 8 == row["lots"][0]["balance"]
    ben.fetch_news()
    ben.go(f"/crate/{crate}")
    ben.sees(re.compile("^8"))
    ben.go("/doubts")
    ben.sees("Everything written down adds up.")
