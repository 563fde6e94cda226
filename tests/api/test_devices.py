"""Phones on the owner's screen: who has them, when they were heard, what is only on them."""

import json
from datetime import timedelta

import pytest
from rest_framework.test import APIClient

from tests.api.conftest import stock
from tests.api.test_walls import LEAST, call
from tests.farms import NOON, Phone, crate_id, found, lot_id
from tubertrack.apps.accounts import clock
from tubertrack.apps.accounts.models import Device, Farm
from tubertrack.apps.accounts.services import HEARD_EVERY
from tubertrack.apps.records.models import Lot
from tubertrack.core.stock.kinds import roles

pytestmark = pytest.mark.django_db


def refused(answer, status, code):
    assert (status, code) == (answer.status_code, answer.json()["code"])
    return answer.json()


def row(farms, phone):
    listed = farms.owner.client.get("/api/devices/").json()
    return next(one for one in listed if one["id"] == str(phone.device.pk))


def push(phone, *raws, **told):
    body = {
        "app": "winter-tally 1.4",
        "protocol": 1,
        "device": str(phone.device.pk),
        "records": [raw.decode() for raw in raws],
        **told,
    }
    answer = phone.client.post("/sync/v1/push", json.dumps(body), content_type="application/json")
    assert 200 == answer.status_code, answer.content
    return answer.json()


def emptied(phone, **told):
    return phone.raw("emptied", {"crate": crate_id(1)}, **told)


def test_devices_are_listed_with_their_people(farms):
    listed = farms.viewer.client.get("/api/devices/").json()
    people = {one["member"] and (one["member"]["name"], one["member"]["role"]) for one in listed}
    assert {
        None,
        ("Ana", "owner"),
        ("Gil", "grower"),
        ("Ben", "helper"),
        ("Vi", "viewer"),
    } == people
    assert 5 == len(listed)
    assert 2 == Farm.objects.count()
    assert {
        "id": str(farms.helper.device.pk),
        "name": "Ben's phone",
        "sort": "phone",
        "last_heard_at": None,
        "revoked_at": None,
        "quarantined": False,
        "app": "",
        "waiting": None,
        "waiting_at": None,
        "records": 0,
        "highest_seq": 0,
        "missing": [],
    }.items() <= row(farms, farms.helper).items()


def test_a_phone_says_what_is_still_only_on_it(farms):
    push(farms.helper, emptied(farms.helper), waiting=3)
    told = row(farms, farms.helper)
    assert (3, "winter-tally 1.4", 1) == (told["waiting"], told["app"], told["records"])
    assert told["waiting_at"] == told["last_heard_at"]
    farms.helper.pull(waiting=0, app="winter-tally 1.5")
    told = row(farms, farms.helper)
    assert (0, "winter-tally 1.5") == (told["waiting"], told["app"])


def test_a_phone_that_says_nothing_keeps_what_it_said(farms):
    push(farms.helper, waiting=3)
    Device.objects.update(last_heard_at=clock.now() - timedelta(minutes=5))
    push(farms.helper)
    farms.helper.pull()
    told = row(farms, farms.helper)
    assert (3, True) == (told["waiting"], told["waiting_at"] < told["last_heard_at"])


@pytest.mark.parametrize(
    "waiting", [-1, "3", "many", 1.5, True, None, [], {}, 10**30, "٣", "\ud800"]
)
def test_what_cannot_be_a_count_holds_up_no_entry(farms, waiting):
    answer = push(farms.helper, emptied(farms.helper), waiting=waiting, app="a\0" * 200)
    assert ["stored"] == [one["verdict"] for one in answer["verdicts"]]
    told = row(farms, farms.helper)
    assert (3 if waiting == "3" else None, "a" * 80) == (told["waiting"], told["app"])


@pytest.mark.parametrize("waiting", ["-1", "x", "", "9" * 40])
def test_nor_does_it_hold_up_a_pull(farms, waiting):
    assert 200 == farms.helper.pull(waiting=waiting, app=b"\xff\0").status_code
    assert row(farms, farms.helper)["waiting"] is None


def test_hearing_a_phone_is_written_once_a_minute(farms, django_assert_num_queries):
    push(farms.helper, waiting=1)
    Device.objects.update(last_heard_at=clock.now() - HEARD_EVERY / 2)
    before = row(farms, farms.helper)["last_heard_at"]
    push(farms.helper, waiting=1)
    assert before == row(farms, farms.helper)["last_heard_at"]
    Device.objects.update(last_heard_at=clock.now() - HEARD_EVERY * 2)
    push(farms.helper, waiting=1)
    assert before < row(farms, farms.helper)["last_heard_at"]


def test_holes_in_a_phone_s_own_numbers_are_told(farms):
    phone = farms.helper
    for number in (1, 2, 5, 6, 9, 9):
        push(phone, emptied(phone, device_seq=number))
    told = row(farms, phone)
    assert (6, 9, [[3, 4], [7, 8]]) == (told["records"], told["highest_seq"], told["missing"])
    assert [] == row(farms, farms.grower)["missing"]


def test_a_wild_number_is_one_hole(farms):
    phone = farms.helper
    push(phone, emptied(phone, device_seq=2**53 - 1))
    told = row(farms, phone)
    assert (1, [[1, 2**53 - 2]]) == (told["records"], told["missing"])


def test_no_more_than_fifty_holes_are_told(farms):
    phone = farms.helper
    push(phone, *(emptied(phone, device_seq=2 * n) for n in range(1, 80)))
    missing = row(farms, phone)["missing"]
    assert (50, [1, 1], [99, 99]) == (len(missing), missing[0], missing[-1])


def test_numbers_of_another_farm_s_phone_tell_nothing_here(farms):
    claimed = str(farms.helper.device.pk)
    push(farms.cleo, emptied(farms.cleo, device=claimed, device_seq=7))
    assert (0, []) == (row(farms, farms.helper)["records"], row(farms, farms.helper)["missing"])


def test_an_owner_names_any_device_and_others_their_own(farms):
    path = f"/api/devices/{farms.helper.device.pk}/"
    named = farms.owner.client.patch(path, {"name": "  Greenhouse phone "}).json()
    assert "Greenhouse phone" == named["name"] == row(farms, farms.helper)["name"]
    assert "Ben's" == farms.helper.client.patch(path, {"name": "Ben's"}).json()["name"]
    refused(farms.grower.client.patch(path, {"name": "x"}), 403, "not_permitted")
    assert 404 == farms.cleo.client.patch(path, {"name": "x"}).status_code
    refused(farms.owner.client.patch(path, {"name": ""}), 400, "bad_input")
    server = Device.objects.get(farm=farms.farm, sort="server")
    for name in ("", "revoke/", "release/"):
        path = f"/api/devices/{server.pk}/{name}"
        ask = farms.owner.client.post if name else farms.owner.client.patch
        assert 404 == ask(path, {"name": "x"}).status_code
    assert "Ben's" == row(farms, farms.helper)["name"]


def test_a_revoked_device_is_out_everywhere_at_once(farms):
    stock(farms.owner, 1)
    client = farms.helper.client
    assert 200 == client.get("/api/farm/").status_code
    path = f"/api/devices/{farms.helper.device.pk}/revoke/"
    assert farms.owner.client.post(path).json()["revoked_at"]
    asked = 0
    for address, methods in LEAST.items():
        for method, least in methods.items():
            if least in roles():
                refused(call(client, method, address), 401, "not_signed_in")
                asked += 1
    assert asked > 40
    told = refused(farms.helper.push(emptied(farms.helper)), 401, "not_signed_in")
    assert "Nothing on it is lost" in told["message"]
    assert 200 == farms.grower.client.get("/api/farm/").status_code


def test_an_owner_may_revoke_the_own_device(farms):
    path = f"/api/devices/{farms.owner.device.pk}/revoke/"
    assert 200 == farms.owner.client.post(path).status_code
    assert 401 == farms.owner.client.get("/api/farm/").status_code


def paired_again(farms, phone, by="code"):
    ben = {"member": str(phone.device.member_id), "device": str(phone.device.pk)}
    made = farms.owner.client.post("/api/pairing/", ben).json()
    code = made["code"] if by == "code" else made["qr"].rsplit("/", 1)[1]
    answer = APIClient().post("/api/pair/", {"code": code, "device_name": "found again"})
    assert 201 == answer.status_code, answer.content
    assert str(phone.device.pk) == answer.json()["device"]["id"]
    return Phone(Device.objects.get(pk=phone.device.pk), answer.json()["token"], phone.written)


@pytest.mark.parametrize("by", ["code", "qr"])
def test_a_lost_phone_that_comes_back_is_set_aside_until_it_is_released(farms, by):
    lost = farms.helper
    kept = lost.raw("found", found(1, 10, 1))
    farms.owner.client.post(f"/api/devices/{lost.device.pk}/revoke/")
    assert 401 == lost.push(kept).status_code
    back = paired_again(farms, lost, by)
    assert 401 == lost.push(kept).status_code
    answer = push(back, kept)
    assert [("held", "quarantined")] == [(v["verdict"], v["code"]) for v in answer["verdicts"]]
    assert (True, None) == (row(farms, back)["quarantined"], row(farms, back)["revoked_at"])
    path = f"/api/devices/{back.device.pk}/release/"
    refused(farms.grower.client.post(path), 403, "not_permitted")
    assert not farms.owner.client.post(path).json()["quarantined"]
    answer = push(back, back.raw("found", found(2, 5, 1)))
    assert ["stored"] == [v["verdict"] for v in answer["verdicts"]]
    assert [lot_id(2)] == list(Lot.objects.values_list("uid", flat=True))
    assert ["duplicate"] == [v["verdict"] for v in push(back, kept)["verdicts"]]


def test_a_phone_that_is_in_use_does_not_come_back(farms):
    ben = str(farms.helper.device.member_id)
    for device in (farms.helper.device.pk, farms.grower.device.pk, farms.cleo.device.pk):
        told = {"member": ben, "device": str(device)}
        assert 404 == farms.owner.client.post("/api/pairing/", told).status_code


def test_whoever_is_at_work_has_no_more_rights_than_the_phone(farms):
    """Ana writes on the phone that was paired for Ben: both are known, the lesser right counts."""
    ana = str(farms.owner.device.member_id)
    shared = farms.helper
    verdicts = shared.append(
        shared.raw("found", found(1, 10, 1), author=ana),
        shared.raw(
            "same_as", {"table": "varieties", "row": lot_id(1), "into": lot_id(2)}, author=ana
        ),
        now=NOON,
    )
    assert ["", "not_permitted"] == [one.code for one in verdicts]
    entries = shared.pull().json()["entries"]
    assert {"helper"} == {entry["role"] for entry in entries}
    assert {(ana, str(shared.device.pk))} == {
        (told["author"], told["device"]) for told in (json.loads(entry["raw"]) for entry in entries)
    }


def test_a_viewer_at_work_on_an_owner_s_phone_writes_nothing(farms):
    vi = str(farms.viewer.device.member_id)
    [verdict] = farms.owner.append(farms.owner.raw("found", found(1, 10, 1), author=vi))
    assert "not_permitted" == verdict.code
