"""What cannot all be so, and what was set aside: both sides are shown, and a tap settles each.

After every tap the farm's computer and the other phone agree with what the page said beforehand.
"""

from __future__ import annotations

import json
import re
import time
import uuid
from typing import Any
from urllib.parse import quote

import pytest
from playwright.sync_api import expect

from tests import farms
from tests.browser.stocking import VARIETY, ago, today

DAY_MS = 86_400_000
CODES = ("4K7QM2X1", "4K7QM2Y3")


def lot_of(api: Any, crate: str) -> str:
    [row] = [row for row in api.rows("crates") if row["id"] == crate]
    return str(row["lots"][0]["id"])


def balance(api: Any, lot: str) -> int:
    [row] = [row for row in api.rows("lots") if row["id"] == lot]
    return int(row["balance"])


def open_problems(api: Any) -> list[dict[str, Any]]:
    return list(api.rows("problems", accepted="false"))


class Writer:
    """A phone told by hand: it writes records and delivers them, as many as are wanted."""

    def __init__(self, member: Any, name: str) -> None:
        self.phone = farms.phone_of(member)
        self.phone.device.name = name
        self.phone.device.save(update_fields=["name"])

    def quarantined(self) -> Writer:
        self.phone.device.quarantined = True
        self.phone.device.save(update_fields=["quarantined"])
        return self

    def raw(self, kind: str, body: dict[str, Any], **told: Any) -> bytes:
        now = int(time.time() * 1000)
        return self.phone.raw(kind, body, **{"occurred_on": ago(3), "recorded_at": now, **told})

    def deliver(self, *raws: bytes, days_ago: int = 0) -> list[Any]:
        now = int(time.time() * 1000) - days_ago * DAY_MS
        verdicts = []
        for i in range(0, len(raws), 200):
            verdicts += self.phone.append(*raws[i : i + 200], now=now)
        return verdicts


WORDS = {
    "negative_balance": "1 more taken out than there were.",
    "check_disagrees": "went through all and saw 8. By what was written before there were 10.",
    "counts_differ": "Ana counted 9, Ben 7 on the same day.",
    "emptied_with_stock": "was found empty. By what was written before, 10 tubers",
    "no_origin": "used, but nobody wrote down where it came from.",
    "sums_differ": "A split took 5 out and put 4 in.",
    "unassigned_loss": "2 thrown out of a crate with several batches",
    "lot_elsewhere": "was found in crate 8. By what was written before it is in crate 7.",
    "code_on_two": "was put on more than one thing.",
    "unknown_code": "was used, and nobody wrote down what it is on.",
    "promised_short": "5000 promised, ",
    "not_allowed": "Ben changed an entry of Ana.",
    "bad_correction": "A correction does not fit the entry it corrects",
    "target_missing": "A change names an entry that is not here yet.",
    "date_clamped": "An entry carries a day that had not come yet",
    "duplicate_id": "Two entries carry the same number.",
}
"""How the ticket of each sort of contradiction begins, or goes on."""


def contradictions(store: Any, api: Any, farm: Any) -> None:
    """Writes one contradiction of every sort."""
    ana = Writer(farm.members.get(role="owner"), "Bench phone")
    ben = Writer(farm.members.get(name="Ben"), "Shed phone")
    crates = [store.crate(str(number), 10) for number in range(1, 11)]
    lots = [lot_of(api, crate) for crate in crates]
    double = store.crate("20", 10, VARIETY, "Oddny Larkvane")
    sold = {"count": 1, "how": "sold"}
    ana.deliver(
        ana.raw("gone_out", {**sold, "lot": lots[0], "count": 11}),
        ana.raw(
            "checked",
            {
                "crate": crates[1],
                "look": "all",
                "lines": [{"lot": lots[1], "seen": 8, "all": True}],
            },
        ),
        ana.raw("counted", {"lot": lots[2], "count": 9}),
        ana.raw("emptied", {"crate": crates[3], "lots": [lots[3]]}),
        ana.raw("gone_out", {**sold, "lot": str(uuid.uuid4())}),
        ana.raw(
            "split",
            {
                "from": [{"lot": lots[4], "count": 5}],
                "into": [{"lot": str(uuid.uuid4()), "count": 4}],
            },
        ),
        ana.raw(
            "checked", {"crate": double, "look": "some", "lines": [], "unassigned": {"rot": 2}}
        ),
        ana.raw("checked", {"crate": crates[7], "look": "top", "lines": [{"lot": lots[6]}]}),
        ana.raw("labelled", {"code": CODES[0], "target": "crate", "id": crates[0]}),
        ana.raw("labelled", {"code": CODES[0], "target": "crate", "id": crates[1]}),
        ana.raw("checked", {"code": CODES[1], "look": "top", "lines": []}),
        ana.raw(
            "promised",
            {"variety": store.row("varieties", VARIETY), "count": 5000, "order": str(uuid.uuid4())},
        ),
        ana.raw("record_voided", {"target": "ab" * 32}),
        ana.raw("counted", {"lot": lots[8], "count": 10}, occurred_on="2031-03-03"),
        ana.raw("gone_out", {**sold, "lot": lots[9]}, id=SAME),
    )
    ana.deliver(ana.raw("gone_out", {**sold, "lot": lots[9], "how": "given"}, id=SAME))
    time_of = [row for row in api.rows("records", kind="gone_out") if row["body"]["lot"] == lots[0]]
    target = time_of[0]["sha256"]
    ana.deliver(
        ana.raw("record_corrected", {"target": target, "as_v": 1, "body": {"count": "many"}})
    )
    ben.deliver(
        ben.raw("counted", {"lot": lots[2], "count": 7}),
        ben.raw("record_voided", {"target": target, "why": "that was mine"}),
    )


SAME = "5f0c2b54-3d0e-4c51-9d0e-6f4f0a4a1c11"


def test_every_sort_is_told_with_its_sides_and_ways(store, new_phone, start_link, farm, api):
    contradictions(store, api, farm)
    assert set(WORDS) <= {one["code"] for one in open_problems(api)}
    phone = new_phone()
    phone.enter(start_link())
    phone.has_all()
    for one in sorted(open_problems(api), key=lambda one: str(one["code"])):
        phone.follow("/doubts")
        phone.page.evaluate("() => scrollTo(0, 0)")
        key = one["id"]
        phone.page.evaluate(
            """(path) => {
              const link = document.createElement("a");
              link.href = path;
              document.body.append(link);
              link.click();
              link.remove();
            }""",
            f"/doubts/{quote(key, safe='')}",
        )
        heading = phone.page.get_by_role("heading", level=1)
        expect(heading).to_contain_text(WORDS[one["code"]])
        sides = phone.page.get_by_role("article").get_by_role("listitem")
        expect(sides).not_to_have_count(0)
        main = phone.page.get_by_role("main")
        ways = main.get_by_role("button").filter(has_not_text=re.compile("^(Cancel|Next|Before)$"))
        assert ways.count() >= 2, one["code"]
        for way in ways.all():
            described = way.get_attribute("aria-describedby")
            assert described, (one["code"], way.inner_text())
            expect(phone.page.locator(f"[id='{described}']")).to_contain_text(re.compile(r"\w.*\."))
        overflow = phone.page.evaluate("() => document.documentElement.scrollWidth - innerWidth")
        assert overflow <= 0, one["code"]
        phone.shot(f"sort-{one['code']}", whole=True)


def test_two_phones_count_one_crate_and_one_tap_settles_it(store, ana, ben, api):
    crate = store.crate("12", 10)
    lot = lot_of(api, crate)
    for phone, count in ((ana, 9), (ben, 7)):
        phone.fetch_news()
        phone.follow(f"/crate/{crate}")
        phone.offline()
        phone.follow("/recount")
        phone.choose("What was counted", VARIETY)
        phone.fill(re.compile(VARIETY), str(count))
        phone.tap("Save the count")
        phone.said(re.compile("Saved on this phone"))
    ana.online()
    ana.unsent(0)
    ben.online()
    ben.unsent(0)
    [problem] = open_problems(api)
    assert "counts_differ" == problem["code"]

    ana.fetch_news()
    ana.follow(f"/crate/{crate}")
    ana.tap("Show")  # from the mark on the crate to its ticket
    ana.sees(re.compile("Ana counted 9, Ben 7 on the same day"))
    ana.sees("9 counted, then 7: 2 fewer")
    sides = ana.page.get_by_role("article").get_by_role("listitem")
    expect(sides).to_have_count(2)
    for words in ("Ben, helper", "Chrome on", "Happened", "Written", "Reached the farm"):
        expect(sides.nth(1)).to_contain_text(words)
    ana.shot("1-both-sides", whole=True)
    ways = ana.page.get_by_role("region", name="Ways out")
    way = ways.get_by_role("button", name="9, as Ana counted")
    expect(way).to_have_accessible_description(re.compile(r"Afterwards 9, now 7\."))

    ana.offline()  # settling works in the cellar
    ana.tap(way)
    ana.said("Saved on this phone: put right.")
    ana.sees("Everything written down adds up.")
    ana.online()
    ana.unsent(0)
    assert ([], 9) == (open_problems(api), balance(api, lot))
    ben.fetch_news()
    ben.follow(f"/lot/{lot}")
    ben.sees(re.compile("^9 tubers"))

    ana.tap("Undo")
    ana.said("Undone: it is on the list again.")
    ana.unsent(0)
    assert 1 == len(open_problems(api))


def test_a_helper_asks_and_a_grower_answers_in_one_tap(store, ana, ben, api):
    lots = [lot_of(api, store.crate(number, 10)) for number in ("12", "13")]
    for lot in lots:
        store.write("gone_out", {"lot": lot, "count": 4, "how": "sold"}, on=today().isoformat())
    ben.fetch_news()
    ben.follow("/days")
    for _ in lots:
        theirs = ben.page.get_by_role("listitem").filter(has_text="Sold: 4 tubers")
        waiting = theirs.filter(has_not=ben.page.get_by_role("link", name="Doesn't add up"))
        ben.tap(waiting.first.get_by_role("button", name="Undo"))
        ben.said(re.compile("^Undone"))
    ben.unsent(0)
    assert [6, 6] == [balance(api, lot) for lot in lots]  # nothing happened yet
    ben.follow("/doubts")
    ben.sees("Ben asks to strike out what Ana wrote.")
    expect(ben.page.get_by_text("A grower or an owner can do this.")).to_have_count(2)
    expect(ben.page.get_by_role("button", name="Do as asked")).to_have_count(0)
    ben.shot("1-a-helper-sees-who-can")

    ana.fetch_news()
    ana.follow("/doubts")
    expect(ana.page.get_by_text("Ben asks to strike out what Ana wrote.")).to_have_count(2)
    ana.sees(re.compile(r"As asked: .*crate 1[23]: afterwards 10, now 6\."))
    ana.shot("2-a-grower-decides", whole=True)
    ana.tap(ana.page.get_by_role("button", name="Do as asked").first)
    ana.said("Saved on this phone: done as asked.")
    ana.tap(ana.page.get_by_role("button", name="Leave it").first)
    ana.said("Saved on this phone: left as it was written.")
    ana.sees("Everything written down adds up.")
    ana.unsent(0)
    assert [] == open_problems(api)
    assert [6, 10] == sorted(balance(api, lot) for lot in lots)
    ben.fetch_news()
    ben.follow("/doubts")
    ben.sees("Everything written down adds up.")


def test_a_phone_that_was_lost_comes_back_and_all_it_brings_counts_or_not(
    store, new_phone, start_link, farm, api, ben
):
    crate = store.crate("12", 100)
    lot = lot_of(api, crate)
    lost = Writer(farm.members.get(name="Ben"), "Ben's old phone").quarantined()
    sold = [{"lot": lot, "count": 1, "how": "given"} for _ in range(31)]
    verdicts = lost.deliver(*(lost.raw("gone_out", body) for body in sold))
    assert {"held"} == {one.verdict for one in verdicts}
    broken = lost.raw("gone_out", {"lot": lot, "count": -5, "how": "given"})
    lost.deliver(broken)

    desk = new_phone(desk=True)
    desk.enter(start_link())
    desk.fetch_news()
    desk.follow("/todo")
    desk.tap(re.compile("^Set aside"))
    group = desk.page.locator("section").filter(has_text="from Ben's old phone")
    expect(group.get_by_role("listitem")).to_have_count(20)
    desk.shot("1-set-aside")
    desk.tap("Accept all 31 from Ben's old phone")
    desk.sees("1 batch changes, 31 tubers fewer in all.")
    desk.sees("1 more cannot count as they are: look at them one by one.")
    desk.shot("2-before-accepting")
    desk.tap("Let all 31 count")
    desk.said("Saved on this phone: 31 entries from Ben's old phone count.")
    desk.unsent(0)
    assert 69 == balance(api, lot)
    ben.fetch_news()
    ben.follow(f"/lot/{lot}")
    ben.sees(re.compile("^69 tubers"))

    desk.tap("Undo")  # the whole lot of them
    desk.said("Undone: they are set aside again.")
    desk.unsent(0)
    assert 100 == balance(api, lot)

    desk.tap(desk.page.get_by_role("link", name=re.compile("Given away: -5")))
    desk.sees(re.compile("Count must be a whole number, 0 or more"))
    desk.tap("Mend it, then let it count")
    desk.fill("Count", "5")
    desk.sees("1 batch changes, 5 tubers fewer in all.")
    desk.shot("3-mended", whole=True)
    desk.tap("Let it count like this")
    desk.said("Saved on this phone: the entry counts as mended.")
    desk.sees("It counts")
    desk.unsent(0)
    assert 95 == balance(api, lot)

    desk.follow("/aside")
    desk.tap("Leave all 31 aside")
    desk.said("Saved on this phone: 31 entries from Ben's old phone left aside.")
    desk.sees("Nothing is set aside.")
    desk.unsent(0)
    desk.tap("Decided: 31 left aside or struck out")
    expect(desk.page.get_by_role("list", name="Decided").get_by_role("listitem")).to_have_count(31)
    desk.follow("/todo")
    expect(desk.page.get_by_role("link", name=re.compile("^Set aside"))).to_have_count(0)


def test_what_cannot_be_counted_is_told_by_reason(store, ana, farm, api):
    crate = store.crate("12", 10)
    lot = lot_of(api, crate)
    dora = farm.members.create(name="Dora", role="viewer")
    hers = Writer(dora, "Dora's phone")
    lost = Writer(farm.members.get(name="Ben"), "Shed phone")
    lost.deliver(
        lost.raw("sung_to", {"crate": crate}),
        lost.raw("counted", {"lot": lot, "count": 3}, v=9),
        lost.raw("counted", {"lot": lot, "count": "three"}),
        b"\xff\xfe torn",
    )
    hers.deliver(hers.raw("counted", {"lot": lot, "count": 3}))
    ana.fetch_news()
    ana.follow("/aside")
    for heading in (
        "Not permitted from Dora's phone",
        "Something in it is missing or cannot be from Shed phone",
        "Cannot be read",
        "Waiting for an update",
    ):
        expect(ana.page.get_by_role("heading", name=re.compile(heading))).to_have_count(1)
    ana.sees(re.compile("2 entries were written by a newer app than the farm’s computer knows"))
    ana.shot("1-by-reason", whole=True)
    ana.tap(re.compile("^An entry that cannot be read"))
    ana.sees("Nothing of it can be told in words.")
    with ana.page.expect_download() as found:
        ana.page.get_by_role("button", name="Copy it out").click()
    line = json.loads(found.value.path().read_text("utf-8"))
    assert {"seq", "raw_b64", "held"} <= set(line)

    ana.tap("Leave it aside")
    ana.fill("Why, if it can be said", "a torn file")
    ana.tap("Leave it aside")
    ana.said("Saved on this phone: the entry stays set aside.")
    ana.sees(re.compile("by decision of Ana.*: a torn file"))
    ana.unsent(0)
    [told] = api.rows("records", kind="held_resolved")
    assert "a torn file" == told["body"]["why"]


def test_hundreds_of_them_do_not_hold_the_page_up(store, new_phone, start_link, farm):
    rows = [(str(uuid.uuid4()), number) for number in range(300)]
    stock = Writer(farm.members.get(role="owner"), "Bench phone")
    variety = store.row("varieties", VARIETY)
    raws = []
    for lot, number in rows:
        line = {"lot": lot, "count": 10, "unit": "tuber", "variety": variety}
        crate = store.row("crates", str(number), "number") if number < 3 else str(uuid.uuid4())
        raws.append(stock.raw("packed", {"crate": crate, "lots": [line]}, occurred_on=ago(9)))
        raws.append(stock.raw("gone_out", {"lot": lot, "count": 11, "how": "sold"}))
    stock.deliver(*raws)
    desk = new_phone(desk=True)
    desk.enter(start_link())
    desk.has_all()
    desk.follow("/doubts")
    desk.sees(re.compile("^300 things written down that cannot all be so"))
    lines = desk.page.get_by_role("list", name="Counts that disagree").get_by_role("listitem")
    expect(lines).to_have_count(40)
    desk.shot("1-hundreds")
    desk.tap("Show more (260)")
    expect(lines).to_have_count(80)
    desk.page.get_by_label("Crate").select_option(label="Crate 1")
    expect(lines).to_have_count(1)
    assert "crate=" in desk.page.url
    # By keyboard alone: the arrow goes to the row, Enter opens it, and back keeps what was asked for.
    lines.get_by_role("link").focus()
    desk.page.keyboard.press("Enter")
    desk.sees("10 packed − 11 sold = −1")
    desk.shot("2-one-of-them")
    desk.page.go_back()
    expect(lines).to_have_count(1)
    desk.tap("Show all")
    expect(lines).to_have_count(40)

    desk.tap(lines.first.get_by_role("link"))
    desk.tap("There was 1 more to begin with")
    desk.said("Saved on this phone: put right.")
    desk.tap(re.compile("^Next: 299 left"))
    desk.sees("10 packed − 11 sold = −1")


def test_left_as_it_is_with_a_reason_and_put_on_the_list_again(store, ana, api):
    lot = lot_of(api, store.crate("12", 10))
    store.write(
        "split",
        {"from": [{"lot": lot, "count": 5}], "into": [{"lot": str(uuid.uuid4()), "count": 4}]},
    )
    ana.fetch_news()
    ana.follow("/doubts")
    ana.tap(re.compile("A split took 5 out and put 4 in"))
    ana.sees("5 taken out, 4 put in: 1 fewer")
    ana.tap("Leave it as it is")
    ana.fill("Why, if it can be said", "one fell behind the bench")
    ana.tap("Leave it as it is")
    ana.said("Saved on this phone: left as it is.")
    ana.sees(re.compile("Looked into and left as it is by Ana.*: one fell behind the bench"))
    ana.unsent(0)
    assert [] == open_problems(api)
    ana.tap("Put it on the list again")
    ana.said("Undone: it is on the list again.")
    ana.unsent(0)
    assert 1 == len(open_problems(api))
    ana.tap(re.compile("^4 were taken out"))
    ana.sees("Everything written down adds up.")
    ana.unsent(0)
    assert [] == open_problems(api)


def test_entries_a_phone_never_delivered(store, ana, farm, api):
    lot = lot_of(api, store.crate("12", 10))
    shed = Writer(farm.members.get(name="Ben"), "Greenhouse phone")
    raws = [shed.raw("counted", {"lot": lot, "count": 10}) for _ in range(6)]
    shed.deliver(*raws[:1], *raws[4:], days_ago=9)
    ana.follow("/aside")
    ana.sees("Greenhouse phone has not delivered entries 2–4.")
    ana.shot("1-never-delivered", whole=True)
    ana.offline()
    ana.follow("/todo")
    ana.follow("/aside")
    ana.sees("Whether a phone has not delivered something is told with a connection.")
    ana.online()
    shed.deliver(*raws[1:4])
    ana.tap("Ask again")
    expect(ana.page.get_by_text("Greenhouse phone has not delivered")).to_have_count(0)


def test_a_correction_to_another_day_stands_on_both_days(store, ana, api):
    lot = lot_of(api, store.crate("12", 10))
    store.write("gone_out", {"lot": lot, "count": 4, "how": "sold"}, on=ago(5))
    ana.fetch_news()
    ana.follow(f"/days?on={ago(5)}")
    ana.tap("Correct")
    ana.page.get_by_role("textbox", name="How many", exact=True).fill("3")
    ana.tap("Another day")
    ana.page.locator("input[type=date]").fill(ago(4))
    ana.tap(re.compile("^Save"))
    ana.said(re.compile("Corrected"))
    ana.page.wait_for_url(re.compile(f"on={ago(4)}"))
    moved = ana.page.get_by_role("listitem").filter(has_text="Sold: 4 tubers")
    expect(moved).to_contain_text("Sold: 3 tubers")
    expect(moved).to_contain_text("On this day.")
    expect(moved).to_contain_text("Corrected by Ana")
    ana.shot("1-on-the-new-day")
    ana.tap(moved.get_by_role("link").filter(has_not_text="Correct"))
    expect(ana.page.get_by_role("listitem").filter(has_text="Sold: 4 tubers")).to_contain_text(
        re.compile("Sold: 3 tubers.*On ")
    )


@pytest.mark.parametrize(
    ("path", "label", "put_back"),
    [("/phone/farm", "For so many weeks after packing", "6"), ("variety", "Form", "ball")],
)
def test_what_somebody_else_replaced_can_be_put_back(store, ana, farm, api, path, label, put_back):
    gil = Writer(farm.members.create(name="Gil", role="grower"), "Gil's phone")
    variety = store.row("varieties", VARIETY)
    is_setting = path == "/phone/farm"
    table, row = ("settings", str(farm.pk)) if is_setting else ("varieties", variety)
    field = "first_weeks" if is_setting else "form"
    now = int(time.time() * 1000)
    first, second = (6, 9) if is_setting else ("ball", "pompon")
    told = {"table": table, "row": row, "field": field}
    mine = store.phone.raw(
        "field_set",
        {**told, "value": first},
        occurred_on=ago(4),
        recorded_at=now - 2000,
        stamp=[now - 2000, 0],
    )
    store.phone.append(mine, now=now)
    gil.deliver(
        gil.raw(
            "field_set", {**told, "value": second}, recorded_at=now - 1000, stamp=[now - 1000, 0]
        )
    )
    # Gil replaced what Ana wrote, and Ana is asked.
    ana.fetch_news()
    ana.follow(path if is_setting else f"/rows/varieties/{variety}")
    ana.sees(re.compile(rf"was {put_back}\s*\(Ana, "))
    expect(ana.page.get_by_role("textbox", name=label)).to_have_value(str(second))
    ana.shot("1-was")
    ana.tap(re.compile(f"^Put back {put_back}"))
    ana.said(re.compile("Saved on this phone"))
    expect(ana.page.get_by_role("textbox", name=label)).to_have_value(put_back)
    ana.unsent(0)
    sets = [r for r in api.rows("records", kind="field_set") if r["body"]["field"] == field]
    assert str(first) == str(max(sets, key=lambda r: r["seq"])["body"]["value"])
