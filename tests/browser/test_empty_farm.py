"""An empty farm, its first crates written down without a printer; then labels, bound by scanning."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.rig import Api


@pytest.fixture
def new_farm_api(address):
    """The API of the newest farm, which the journey itself began."""

    def make():
        from tubertrack.apps.accounts.models import Farm
        from tubertrack.apps.accounts.services import enrol_device

        farm = Farm.objects.latest("created_at")
        owner = farm.members.get(role="owner")
        return Api(address, enrol_device(owner, name="Script", sort="script").token)

    return make


def start_an_empty_farm(ana):
    ana.tap(ana.strip)
    ana.tap(re.compile("^Other farms"))
    ana.tap("Start a new empty farm")
    ana.fill("Name of the farm", "Hollow Hill")
    ana.tap("Start it")
    expect(ana.page.get_by_role("heading", name="What is in your first crate?")).to_be_visible()


def write_down_three_crates(ana):
    """By keyboard alone: Enter goes through."""
    keys = ana.page.keyboard
    ana.page.get_by_role("textbox", name="Number", exact=True).press("Enter")
    for variety, count in (
        ("Oddny Larkvane", "12"),
        ("Zelka Morrow", "6x10"),
        ("Zelka Morrow", "7"),
    ):
        expect(ana.page.get_by_role("combobox", name="Variety")).to_be_focused()
        keys.type(variety)
        keys.press("Enter")
        expect(ana.page.get_by_role("textbox", name="How many")).to_be_focused()
        keys.type(count)
        keys.press("Enter")
        ana.said(re.compile(f"of {variety}"))
    ana.sees("3 crates written down")
    ana.shot("1-first-crates", whole=True)


def print_ten_blanks(ana):
    ana.go("/labels")
    ana.tap("Blanks")
    with ana.page.expect_download() as printed:
        ana.tap("Make PDF: 10 labels on 1 sheet")
    ana.tap("Yes, clear queue")
    ana.said("Saved on this phone: 10 labels printed.")
    return printed.value.path().read_bytes()


def put_a_blank_on_crate_2(ana):
    """By scanning it, without a network; the check of the crate then stands open."""
    ana.tap("Scan")
    ana.sees(re.compile("is a blank label"))
    ana.shot("2-blank-scanned")
    ana.tap("Put it on a crate")
    ana.choose("Crate", "Crate 2")
    ana.tap("Put the label on it")
    expect(ana.drawer).to_contain_text("Crate 2")


def test_from_nothing_to_a_corrected_check(ana, camera, new_farm_api):
    start_an_empty_farm(ana)
    write_down_three_crates(ana)
    pdf = print_ten_blanks(ana)
    ana.unsent(0)
    api = new_farm_api()
    [printed] = [one for one in api.rows("records") if one["kind"] == "printed"]
    code = printed["body"]["codes"][3]

    ana.offline()
    camera.show_label(pdf, code)
    put_a_blank_on_crate_2(ana)
    ana.tap("Close", within=ana.drawer)
    ana.unsent(1)

    ana.go("/pack")
    ana.choose("Into crate", "4")
    ana.choose("What goes in", "Queen of Osselby")
    ana.fill("How many go in", "9")
    ana.tap("Save: 9 tubers")
    ana.said("Saved on this phone: Crate 4: 9 tubers of Queen of Osselby.")

    ana.open_crate("2", "No place written")
    ana.tap(re.compile("^Rot"))
    ana.tap("Save: 1 rot, 59 left")
    ana.said("Saved on this phone: Crate 2: 59 left, 1 rot.")
    ana.tap("Undo")
    ana.said("Undone: Crate 2 is back to 60.")

    ana.open_crate("2", "No place written")
    ana.tap(re.compile("^Rot"))
    ana.tap("Note, temperature inside, weight, another day")
    ana.tap("Yesterday")
    ana.tap("Save: 1 rot, 59 left")
    ana.said("Saved on this phone: Crate 2: 59 left, 1 rot.")

    ana.go("/days")
    ana.tap("Yesterday")
    entry = ana.page.get_by_role("main").get_by_role("listitem").filter(has_text="threw out 1 rot")
    ana.shot("3-yesterday", whole=True)
    ana.tap("Correct", within=entry)
    ana.tap(re.compile("^Rot"))
    ana.shot("4-correct", whole=True)
    ana.tap("Save the correction")
    ana.said(re.compile("^Saved on this phone"))
    ana.online()
    ana.unsent(0)

    assert {"1": 12, "2": 58, "3": 7, "4": 9} == {
        crate["number"]: sum(lot["balance"] for lot in crate["lots"])
        for crate in api.rows("crates")
    }
    assert code == next(row["code"] for row in api.rows("crates") if row["number"] == "2")
    assert [] == api.rows("problems")
