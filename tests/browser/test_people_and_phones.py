"""People are let in and out, phones get lost and come back, names are erased: told screen by screen."""

from __future__ import annotations

import io
import json
import re
from datetime import timedelta

import pytest
from django.contrib.auth import get_user_model
from django.utils import timezone
from PIL import Image
from playwright.sync_api import expect

from tests.browser.camera import held
from tests.browser.stocking import CELLAR

PASSWORD = "four quiet crates below"


def owner_with_password(farm):
    """Ana, who may sign in by name and password."""
    owner = farm.members.get(role="owner")
    owner.user = get_user_model().objects.create_user("ana", password=PASSWORD)
    owner.save()


def check(phone, number: str = "12", *, good: int = 10) -> None:
    phone.open_crate(number, CELLAR)
    phone.went_through_all(rotten=0)
    phone.tap(re.compile(f"^Went through all: {good} good|^Save: {good} good"))
    phone.said(re.compile("^Saved on this phone: Crate " + number))


def pair_here(desk, name: str) -> str:
    """Six digits for a person, read off the owner's screen."""
    desk.go("/phone/pair")
    desk.tap(re.compile(f"^{name}"), within=desk.page.get_by_role("group", name="Whose phone"))
    return digits_on(desk)


def digits_on(desk) -> str:
    code = desk.page.locator("p.code")
    expect(code).to_have_text(re.compile(r"^\d{3} \d{3}$"))
    return code.inner_text()


def enter_digits(phone, digits: str) -> None:
    phone.page.get_by_label("Enter the 6-digit code").fill(digits)
    phone.tap("Sign in")


def person(desk, name: str) -> None:
    desk.go("/phone/people")
    desk.tap(re.compile(f"^{name}"), within=desk.page.get_by_role("list", name="People"))
    expect(desk.page.get_by_role("heading", level=1)).to_have_text(name)


def device_of(desk, name: str) -> None:
    """The page of a person's phone."""
    desk.go("/phone/devices")
    desk.tap(desk.page.get_by_role("main").get_by_role("link", name=re.compile(name)))
    expect(desk.page.get_by_text(f"{name}, helper")).to_be_visible()


@pytest.fixture
def desk(new_phone, start_link):
    """The owner's browser, with a mouse."""
    phone = new_phone(desk=True)
    phone.enter(start_link())
    return phone


# ---- signing in


def test_an_owner_comes_in_by_link_chooses_a_password_and_signs_in_with_it(
    new_phone, start_link, watcher
):
    desk = new_phone(desk=True)
    desk.enter(start_link())
    desk.said(re.compile("Choose a password for the next time"))
    desk.tap("Choose a password")
    expect(desk.page.get_by_label("Password until now")).to_have_count(0)
    desk.fill("Name to sign in by", "Ana")
    desk.page.get_by_label("New password", exact=True).fill(PASSWORD)
    assert "new-password" == desk.page.get_by_label("New password", exact=True).get_attribute(
        "autocomplete"
    )
    desk.shot("1-password")
    desk.tap("Set the password")
    desk.said(re.compile("^The password is set"))

    watcher.expect("403")
    other = new_phone(desk=True)
    other.go("/")
    other.fill("Name", "Ana")
    secret = other.page.get_by_label("Password", exact=True)
    assert "current-password" == secret.get_attribute("autocomplete")
    assert "password" == secret.get_attribute("type")
    secret.fill("something else")
    other.tap("Sign in with the password")
    expect(other.page.get_by_role("alert")).to_contain_text("do not fit")
    other.shot("2-does-not-fit")
    expect(other.page.get_by_role("textbox", name="Name")).to_have_value("Ana")
    other.page.get_by_text("Show password").click()
    shown = other.page.get_by_label("Password", exact=True)
    assert "text" == shown.get_attribute("type")
    shown.fill(PASSWORD)
    shown.press("Enter")
    other.is_in()
    expect(other.strip).to_contain_text("Ana")


def test_too_many_tries_say_how_long_to_wait(farm, new_phone, watcher):
    from tubertrack.apps.accounts import tries

    owner_with_password(farm)
    now = timezone.now()
    for number in range(12):  # the pauses stay below five minutes
        tries.begin([(tries.BY_NAME, "ana")], now=now - timedelta(minutes=5) * (11 - number))
    watcher.expect("429")
    phone = new_phone()
    phone.go("/")
    phone.fill("Name", "ana")
    phone.page.get_by_label("Password", exact=True).fill(PASSWORD)
    phone.tap("Sign in with the password")
    expect(phone.page.get_by_role("alert")).to_contain_text(
        re.compile(r"Too many tries\. Wait \d+ (minutes|seconds)")
    )
    expect(phone.find("Sign in with the password")).to_be_disabled()
    phone.shot("too-many-tries")


def test_without_a_connection_the_password_waits_and_says_why(farm, new_phone):
    owner_with_password(farm)
    phone = new_phone()
    phone.go("/")
    expect(phone.find("Sign in with the password")).to_be_visible()
    phone.offline()
    phone.fill("Name", "ana")
    phone.page.get_by_label("Password", exact=True).fill(PASSWORD)
    phone.tap("Sign in with the password")
    expect(phone.page.get_by_role("alert")).to_contain_text("No connection to the farm computer")
    expect(phone.page.get_by_label("Password", exact=True)).to_have_value(PASSWORD)


# ---- pairing


def test_a_person_is_added_and_their_phone_comes_in_by_the_picture(desk, new_phone, camera, farm):
    desk.go("/phone/people")
    desk.tap("Add a person")
    desk.fill("Name", "Oda")
    desk.page.get_by_role("radio", name=re.compile("^Helper")).check()
    desk.tap("Add Oda")
    picture = desk.page.get_by_role("img", name=re.compile("^QR code"))
    expect(picture).to_be_visible()
    expect(desk.page.get_by_text(re.compile(r"\d+:\d\d left"))).to_be_visible()
    box = picture.bounding_box()
    assert box
    assert box["width"] > 300
    desk.shot("1-pair")
    camera.show(held(Image.open(io.BytesIO(picture.screenshot())).convert("RGB")))

    phone = new_phone()
    phone.go("/")
    phone.tap("Scan the QR code instead")
    phone.is_in()
    camera.show_nothing()
    expect(phone.strip).to_contain_text("Oda")
    desk.sees(re.compile("Oda’s phone is in"))
    desk.shot("2-is-in")
    assert "helper" == farm.members.get(name="Oda").role


def test_an_old_code_lets_nobody_in_and_a_new_one_does(desk, new_phone, watcher):
    first = pair_here(desk, "Ben")
    from tubertrack.apps.accounts.models import PairingCode

    PairingCode.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    watcher.expect("403")
    phone = new_phone()
    phone.go("/")
    enter_digits(phone, first)
    expect(phone.page.get_by_role("alert")).to_contain_text("does not let a phone in")
    desk.tap("New code")
    expect(desk.page.locator("p.code")).not_to_have_text(first)
    enter_digits(phone, digits_on(desk))
    phone.is_in()
    expect(phone.strip).to_contain_text("Ben")


# ---- what each may do


def test_a_helper_mends_no_entry_of_others_and_changes_no_settings(store, ana, ben, api):
    store.crate("12", 10)
    ana.fetch_news()
    ana.go("/scan/list")
    check(ana)
    ana.unsent(0)
    ben.fetch_news()
    ben.go("/days")
    ben.tap("Undo", within=ben.page.get_by_role("main"))
    ben.said(re.compile("^Undone"))
    ben.unsent(0)
    [problem] = api.rows("problems")
    assert "not_allowed" == problem["code"]
    [crate] = api.rows("crates")
    assert "all" == crate["look"]  # the check still counts

    ben.go("/phone/farm")
    ben.sees("A grower or the owner changes these.")
    expect(ben.find("Save")).to_be_disabled()
    ben.go("/buyers")
    ben.sees(re.compile("^Buyers and prices are for growers and owners"))
    ben.go("/phone/people")
    expect(ben.find("Add a person")).to_have_count(0)
    ben.go("/phone/people/may")
    ben.sees("Undo and correct the entries of others.")
    ben.shot("what-each-may-do", whole=True)


def test_several_people_write_on_one_phone_and_the_phone_sets_the_most(store, ben, api, farm):
    store.crate("12", 10)
    ben.fetch_news()
    ben.offline()
    ben.go("/phone")
    group = ben.page.get_by_role("group", name="Who is writing")
    box = group.get_by_role("button").first.bounding_box()
    assert box
    assert box["height"] >= 72
    ben.tap(re.compile("^Ana"), within=group)
    ben.sees(re.compile("This phone was paired for Ben"))
    ben.shot("ana-on-bens-phone")
    expect(ben.strip).to_contain_text("Ana")
    ben.go("/phone/farm")
    expect(ben.find("Save")).to_be_disabled()
    ben.reload()
    expect(ben.strip).to_contain_text("Ana")
    check(ben)
    ben.online()
    ben.unsent(0)
    [row] = api.rows("records", kind="checked")
    assert "Ana" == row["author_name"]
    assert "helper" == row["role"]


# ---- a lost phone


def test_a_lost_phone_is_signed_out_keeps_what_it_holds_and_comes_back_set_aside(
    store, desk, new_phone, farm, api, watcher
):
    watcher.expect("401")
    store.crate("12", 10)
    phone = new_phone()
    phone.go("/")
    enter_digits(phone, pair_here(desk, "Ben"))
    phone.is_in()
    desk.sees(re.compile("Ben’s phone is in"))
    phone.fetch_news()
    phone.offline()
    check(phone)
    phone.unsent(1)

    device_of(desk, "Ben")
    desk.tap(re.compile("is lost$"))
    expect(desk.drawer).to_contain_text("At once")
    desk.shot("1-lost")
    desk.tap("Sign it out")
    desk.said(re.compile("is signed out"))
    desk.tap("Crates to look at again")
    desk.sees("Crates to look at again")

    phone.online()
    phone.follow("/phone")
    phone.sees(re.compile("^This phone is signed out. 1 entry is only on this phone"))
    expect(phone.find("Sign this device out")).to_be_disabled()
    phone.shot("2-signed-out", whole=True)
    with phone.page.expect_download() as copied:
        phone.page.evaluate("() => { delete Navigator.prototype.canShare; }")
        phone.tap("Copy them out")
    lines = copied.value.path().read_text("utf-8").splitlines()
    assert ["checked"] == [json.loads(json.loads(line)["raw"])["kind"] for line in lines]
    phone.reload()
    phone.unsent(1)

    device_of(desk, "Ben")
    desk.tap("Pair it again")
    digits = digits_on(desk)
    phone.go("/phone")
    phone.tap(phone.find("Sign in again").first)
    enter_digits(phone, digits)
    phone.unsent(0)
    desk.sees(re.compile("Ben’s phone is in"))
    [held_back] = api.rows("records", kind="checked")
    assert held_back["held"]
    phone.follow("/phone")
    phone.sees(re.compile("came back after it had been signed out"))

    desk.fetch_news()
    desk.go(f"/aside/{held_back['sha256']}")
    desk.tap("Let it count as told")
    desk.said(re.compile("the entry counts"))
    desk.unsent(0)
    [crate] = api.rows("crates")
    assert "all" == crate["look"]
    device_of(desk, "Ben")
    desk.tap("Let it write again")
    desk.said(re.compile("like any other phone again"))
    phone.fetch_news()
    check(phone)
    phone.unsent(0)
    assert 2 == len(api.rows("records", kind="checked"))


def test_the_crates_of_a_lost_phones_round_are_named_without_a_network(
    store, desk, new_phone, pairing_code, farm
):
    for number in ("1", "2", "3", "4", "5"):
        store.crate(number, 10)
    phone = new_phone()
    phone.pair(pairing_code("Ben"))
    phone.fetch_news()
    phone.go("/round")
    phone.tap(re.compile(f"^{CELLAR}"))
    start = phone.find(re.compile("^Start"))
    phone.tap(start)
    phone.said(re.compile("round in"))  # else the next page is loaded before it is on disk
    phone.unsent(0)
    check(phone, "1")
    phone.unsent(0)

    desk.fetch_news()
    device_of(desk, "Ben")
    desk.offline()
    desk.tap("See the crates first")
    rows = desk.page.get_by_role("list", name="Crates to look at again").get_by_role("listitem")
    expect(rows).to_have_count(5)
    expect(rows.filter(has_text="its round stood open")).to_have_count(4)
    expect(rows.filter(has_text="it wrote here last")).to_have_count(1)
    desk.shot("redo", whole=True)
    desk.tap("Check Crate 3")
    desk.tap("All", within=desk.drawer)
    desk.tap(re.compile("^Went through all|^Save"), within=desk.drawer)
    desk.said(re.compile("^Saved on this phone: Crate 3"))
    expect(rows.filter(has_text="looked at since")).to_have_count(1)
    desk.page.emulate_media(media="print")
    expect(desk.find("Print the list")).to_be_hidden()
    expect(desk.page.get_by_text("Looked at by:")).to_be_visible()
    desk.shot("redo-on-paper", whole=True)


# ---- leaving


def test_signing_out_waits_for_what_is_not_sent(store, ana):
    store.crate("12", 10)
    ana.fetch_news()
    ana.offline()
    check(ana)
    ana.go("/phone")
    ana.sees("▢ Off while 1 entry is only on this device. Send it first.")
    expect(ana.find("Sign this device out")).to_be_disabled()
    ana.tap("This phone can never send them")
    expect(ana.find("Erase this phone")).to_be_disabled()
    ana.online()
    ana.tap("Send them now")
    ana.unsent(0)
    ana.tap("Sign this device out")
    expect(ana.page.get_by_role("heading", name="Sign this device in")).to_be_visible()
    ana.said(re.compile("no longer on this device"))
    ana.go("/")
    expect(ana.page.get_by_role("heading", name="Sign this device in")).to_be_visible()


def test_a_phone_that_can_never_send_is_erased_only_with_a_copy(store, ana):
    store.crate("12", 10)
    ana.fetch_news()
    ana.offline()
    check(ana)
    ana.go("/phone")
    ana.page.evaluate("() => { delete Navigator.prototype.canShare; }")
    ana.tap("This phone can never send them")
    with ana.page.expect_download():
        ana.tap("Copy them out")
    ana.tap("Erase this phone")
    expect(ana.drawer).to_contain_text("1 entry of Tarrowby was never sent")
    ana.shot("erase")
    ana.tap("Erase, lose 1 entry here")
    expect(ana.page.get_by_role("heading", name="Sign this device in")).to_be_visible()


def test_an_erased_name_is_gone_from_another_phone_after_it_synced(
    store, desk, ana, new_phone, pairing_code, farm, watcher
):
    watcher.expect("401")
    store.crate("12", 10)
    ben = new_phone()
    ben.pair(pairing_code("Ben"))
    ben.fetch_news()
    check(ben)
    ben.unsent(0)
    ana.fetch_news()
    ana.go("/days")
    expect(ana.page.get_by_role("main")).to_contain_text("Ben")

    person(desk, "Ben")
    desk.tap("Erase the name of Ben")
    expect(desk.drawer).to_contain_text("It cannot be taken back")
    desk.shot("erase-name")
    desk.tap("Erase Ben")
    desk.said(re.compile("^The name is erased"))
    expect(desk.page.get_by_role("main")).not_to_contain_text("Ben")

    ana.fetch_news()
    ana.follow("/days")
    expect(ana.page.get_by_role("main")).to_contain_text("Erased person")
    expect(ana.page.get_by_role("main")).not_to_contain_text("Ben")
    ana.follow("/phone")
    expect(ana.page.get_by_role("group", name="Who is writing")).not_to_contain_text("person")


def test_the_last_owner_stays_one(desk):
    person(desk, "Ana")
    desk.sees(re.compile("^The only owner stays one"))
    expect(desk.page.get_by_role("radio", name=re.compile("^Helper"))).to_be_disabled()
    expect(desk.find("Erase the name of Ana")).to_have_count(0)


# ---- buyers


def test_a_price_stands_beside_a_sale_and_its_buyer_can_be_erased(store, ana, api, farm):
    store.crate("12", 10)
    ana.fetch_news()
    ana.go("/out")
    ana.page.get_by_role("combobox", name="What").click()
    ana.tap(ana.page.get_by_role("option").first)
    ana.tap("Sold")
    ana.page.get_by_role("textbox", name=re.compile("How many")).fill("4")
    ana.tap(re.compile("^Save: 4 sold"))
    ana.said(re.compile("^Saved on this phone: Sold: 4 tubers"))
    ana.unsent(0)

    ana.follow("/sales")
    ana.tap(re.compile("4 tubers of"))
    ana.choose("Buyer", "Marnie Oxley")
    ana.fill("Price of all", "18.50")
    ana.fill("Currency", "EUR")
    ana.shot("sale")
    ana.tap("Save", within=ana.drawer)
    ana.said("Kept beside the sale: Marnie Oxley, €18.50.")
    ana.sees(re.compile("€18.50"))
    [sale] = api.get("/api/sales/")
    assert (1850, "EUR") == (sale["price_minor"], sale["currency"])
    [record] = api.rows("records", kind="gone_out")
    assert sale["id"] == record["body"]["sale"]
    assert "Oxley" not in json.dumps(api.rows("records"))

    ana.offline()
    ana.go("/buyers")
    ana.sees("Marnie Oxley")
    ana.sees(re.compile("^No connection. This is as it was last fetched"))
    ana.online()
    ana.tap("Look again")
    ana.tap(re.compile("^Marnie Oxley"))
    ana.tap("Erase Marnie Oxley for good")
    ana.tap("Erase Marnie Oxley", within=ana.drawer)
    ana.said(re.compile("^The buyer is erased"))
    ana.sees(re.compile("^No buyers yet"))
    ana.follow("/sales")
    ana.sees(re.compile("€18.50"))
    expect(ana.page.get_by_role("main")).not_to_contain_text("Oxley")
    assert [] == api.get("/api/buyers/")


def test_buyers_leave_a_phone_whose_person_may_no_longer_read_them(ana, farm, api):
    from tubertrack.apps.accounts.models import Member

    api.post("/api/buyers/", {"name": "Marnie Oxley"})
    ana.go("/buyers")
    ana.sees("Marnie Oxley")
    Member.objects.create(farm=farm, name="Oda", role=Member.Role.OWNER)
    farm.members.filter(name="Ana").update(role=Member.Role.HELPER)
    ana.fetch_news()
    expect(ana.find(re.compile("^Buyers and prices"))).to_have_count(0)
    ana.follow("/buyers")
    ana.sees(re.compile("^Buyers and prices are for growers and owners"))
    ana.offline()
    ana.reload()
    ana.sees(re.compile("^Buyers and prices are for growers and owners"))
    assert not ana.page.evaluate(
        """async () => {
          const names = (await indexedDB.databases()).map((one) => one.name);
          let all = "";
          for (const name of names) {
            const db = await new Promise((yes) => {
              const asked = indexedDB.open(name);
              asked.onsuccess = () => yes(asked.result);
            });
            for (const table of db.objectStoreNames) {
              const rows = await new Promise((yes) => {
                const asked = db.transaction(table).objectStore(table).getAll();
                asked.onsuccess = () => yes(asked.result);
              });
              all += JSON.stringify(rows);
            }
            db.close();
          }
          return all.includes("Oxley");
        }"""
    )
