"""What goes wrong in the hand: one clear sentence each, and nothing is lost.

The addresses of the server are tried the same way in tests/api and tests/sync.
"""

import re

import pytest
import qrcode
from playwright.sync_api import expect

from tests.browser.camera import held
from tests.browser.stocking import CELLAR, ago


@pytest.fixture
def code(api):
    return api.post("/api/labels/blanks/", {"count": 1})["codes"][0]


@pytest.fixture
def ana_at_crate_12(store, code, request):
    """The owner's phone, with crate 12 (34 tubers) in the cellar, whose label is `code`."""
    store.crate("12", 34, code=code)
    ana = request.getfixturevalue("ana")
    ana.has_all()
    return ana


def scan(ana, text):
    ana.follow(f"/scan?code={text}")


def test_a_code_with_one_wrong_character_offers_the_known_one(ana_at_crate_12, code):
    ana = ana_at_crate_12
    wrong = ("Z" if code[0] != "Z" else "Y") + code[1:]
    scan(ana, wrong)
    ana.sees("That is not a code. Did you mean one of these?")
    ana.shot("1-one-character-off")
    ana.tap(f"{code[:4]}-{code[4:]} (Crate 12)")
    expect(ana.drawer).to_contain_text("Crate 12")


def test_a_qr_code_of_something_else(ana_at_crate_12, camera):
    ana = ana_at_crate_12
    other = qrcode.make("WIFI:T:WPA;S:Tarrowby guests;P:leek soup;;").convert("RGB")
    camera.show(held(other))
    ana.follow("/scan")
    ana.sees(re.compile("^That is not one of the farm's labels"))
    ana.sees(re.compile("Nothing was written"))
    ana.shot("1-something-else")
    ana.unsent(0)


def test_more_thrown_out_than_present(ana_at_crate_12, api):
    ana = ana_at_crate_12
    ana.open_crate("12", CELLAR)
    ana.tap("All")
    ana.tap(re.compile("^34 .*count again"))
    ana.tap_each("3", "4", "Done")
    ana.tap_each(re.compile("^Rot"), re.compile("^Rot"))
    expect(ana.drawer).to_contain_text("Crate 12 had 34. You have counted 36.")
    ana.shot("1-more-than-present")
    ana.tap("Save 36 (someone added some)")
    ana.said(re.compile("^Saved on this phone: Crate 12"))
    ana.unsent(0)
    [lot] = api.rows("lots")
    assert 34 == lot["balance"]


def test_a_future_date_is_refused_and_what_was_typed_stays(ana_at_crate_12, api):
    ana = ana_at_crate_12
    ana.follow("/dig")
    ana.choose("Variety", "Pim Haddersley")
    ana.fill("Clumps dug", "3")
    ana.tap(re.compile("change day, add a note"))
    ana.tap("Another day")
    ana.page.get_by_label("Another day").and_(ana.page.locator("input")).fill(ago(-3))
    ana.tap("Save: 3 clumps dug")
    problem = ana.page.get_by_role("alert").filter(has_text="There is a problem")
    expect(problem).to_be_visible()
    ana.shot("1-future-date", whole=True)
    expect(ana.page.get_by_role("textbox", name="Clumps dug")).to_have_value("3")
    ana.tap("Yesterday")
    ana.tap("Save: 3 clumps dug")
    ana.said(re.compile("^Saved on this phone: .*3 clumps"))
    ana.unsent(0)
    assert [ago(1)] == [lot["born_on"] for lot in api.rows("lots", unit="clump")]


def test_61_degrees_in_a_cellar(ana_at_crate_12, store, api):
    ana = ana_at_crate_12
    ana.follow(f"/round?place={store.rows['places', CELLAR]}")
    ana.tap_each("6", "1", "Next", "8", "4", "Start the round")
    ana.sees(re.compile("^61 °C is far outside a cellar. Did you mean 6.1"))
    ana.shot("1-61-degrees")
    ana.tap("Use 6.1")
    ana.said(f"Saved on this phone: round in {CELLAR}.")
    ana.unsent(0)
    assert [6100] == [one["temp_milli_c"] for one in api.rows("readings")]


def test_a_note_beyond_64_kib_is_refused_and_stays_on_the_screen(ana_at_crate_12, api):
    ana = ana_at_crate_12
    note = "damp corner " * 6000  # 72 kB
    ana.open_crate("12", CELLAR)
    ana.tap("Note, temperature inside, weight, another day")
    ana.fill("Note", note)
    ana.tap(re.compile("^Save: nothing thrown out"))
    said = ana.page.get_by_role("alert").filter(has_text=re.compile("too long|64|shorter"))
    expect(said.first).to_be_visible()
    ana.shot("1-long-note")
    expect(ana.page.get_by_role("textbox", name="Note")).to_have_value(note)
    ana.unsent(0)
    ana.fill("Note", "damp corner")
    ana.tap(re.compile("^Save: nothing thrown out"))
    ana.said(re.compile("^Saved on this phone: Crate 12"))
    ana.unsent(0)
    assert ["damp corner"] == [one["note"] for one in api.rows("checks")]


def test_an_unknown_kind_is_held_and_shown_as_set_aside(ana_at_crate_12, store):
    ana = ana_at_crate_12
    raw = store.phone.raw("moon_phase_noted", {"phase": "waning"}, occurred_on=ago(1))
    [verdict] = store.phone.append(raw, now=store.now())
    assert ("held", "unknown_kind") == (verdict.verdict, verdict.code)
    ana.fetch_news()
    ana.follow("/todo")
    ana.tap(re.compile("^Set aside"))
    ana.sees(re.compile("^1 entry was written by a newer app than the farm’s computer knows"))
    ana.tap("Show them")
    ana.tap(re.compile("moon_phase_noted"))
    ana.sees(re.compile("It is of a sort this farm does not know .moon phase noted"))
    ana.shot("1-set-aside", whole=True)
