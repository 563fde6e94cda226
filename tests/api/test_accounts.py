"""Signing in, letting phones in, and being let out again, by the addresses people use."""

import re

import pytest
from django.test import Client
from rest_framework.test import APIClient

from tests.farms import crate_id
from tubertrack.apps.accounts import clock, services
from tubertrack.apps.accounts.models import Device, Member

pytestmark = pytest.mark.django_db


def refused(response, status, code):
    assert (status, code) == (response.status_code, response.json()["code"])
    assert response.json()["message"]


def signed_in_browser() -> Client:
    client = Client(enforce_csrf_checks=True)
    link = services.mint_start_link("", now=clock.now())
    assert "/" == client.get(link)["Location"]
    return client


def post(client, path, told):
    token = client.get("/api/session/").json()["csrf"]
    return client.post(path, told, content_type="application/json", headers={"X-CSRFToken": token})


def test_the_start_link_signs_the_owner_in_and_enrols_the_browser(db):
    client = signed_in_browser()
    session = client.get("/api/session/").json()
    [farm] = session["farms"]
    assert (True, "owner") == (session["signed_in"], farm["role"])
    answer = post(client, "/api/devices/", {"farm": farm["id"], "name": "Desk"})
    assert 201 == answer.status_code
    told = answer.json()
    assert {"token", "device", "member", "farm", "members"} == set(told)
    phone = APIClient()
    phone.credentials(HTTP_AUTHORIZATION=f"Bearer {told['token']}")
    mine = phone.get("/api/farm/").json()
    assert {key: told[key] for key in mine} == mine
    assert farm["id"] == mine["farm"]["id"]
    assert mine["farm"]["as_of"] is None


@pytest.mark.parametrize(
    ("records", "zone", "after"),
    [
        (0, "America/Boise", "America/Boise"),
        (0, "Mars/Olympus", "UTC"),
        (1, "America/Boise", "UTC"),
    ],
)
def test_a_farm_without_records_takes_the_zone_of_its_first_browser(farms, records, zone, after):
    if records:
        farms.owner.append(farms.owner.raw("emptied", {"crate": crate_id(1)}))
    client = Client()
    client.force_login(farms.farm.members.get(name="Ana").user)
    told = {"farm": str(farms.farm.pk), "name": "Desk", "time_zone": zone}
    assert after == post(client, "/api/devices/", told).json()["farm"]["time_zone"]


def test_a_used_start_link_says_what_to_do(db):
    link = services.mint_start_link("", now=clock.now())
    Client().get(link)
    gone = Client().get(link)
    assert 410 == gone.status_code
    assert b"Start Winter Tally again" in gone.content


def test_without_the_page_s_token_nothing_is_enrolled(db):
    client = signed_in_browser()
    farm = client.get("/api/session/").json()["farms"][0]
    told = {"farm": farm["id"], "name": "Desk"}
    refused(
        client.post("/api/devices/", told, content_type="application/json"), 403, "page_too_old"
    )
    assert 0 == Device.objects.exclude(sort="server").count()


def test_nobody_is_told_anything_without_signing_in(db):
    services.mint_start_link("", now=clock.now())
    session = Client().get("/api/session/").json()
    assert (False, []) == (session["signed_in"], session["farms"])


def test_a_new_empty_farm_is_one_request_away(db):
    client = signed_in_browser()
    answer = post(client, "/api/farms/", {"name": "Hill", "time_zone": "America/Boise"})
    assert (201, "Hill") == (answer.status_code, answer.json()["farm"]["name"])
    assert "owner" == answer.json()["member"]["role"]
    assert 2 == len(client.get("/api/session/").json()["farms"])
    bad = post(client, "/api/farms/", {"name": "Hill", "time_zone": "Boise"})
    refused(bad, 400, "unknown_time_zone")
    assert "time_zone" in bad.json()["fields"]


def test_a_browser_cannot_join_a_farm_of_others(farms):
    client = Client()
    client.force_login(farms.farm.members.get(name="Ana").user)
    refused(
        post(client, "/api/devices/", {"farm": str(farms.other.pk), "name": "x"}), 404, "not_found"
    )


def test_an_owner_lets_a_phone_in_by_code(farms):
    ben = farms.farm.members.get(name="Ben")
    made = farms.owner.client.post("/api/pairing/", {"member": str(ben.pk)}).json()
    assert re.fullmatch(r"\d{6}", made["code"])
    assert re.search(r"/pair/[A-Za-z0-9_-]{22}$", made["qr"])
    assert made["qr_svg"].startswith("<svg")
    typed = f"{made['code'][:3]} {made['code'][3:]}"
    answer = APIClient().post("/api/pair/", {"code": typed, "device_name": "Ben's phone"})
    assert (201, "Ben") == (answer.status_code, answer.json()["member"]["name"])
    again = APIClient().post("/api/pair/", {"code": typed, "device_name": "Ben's phone"})
    refused(again, 403, "wrong_code")


def test_a_code_is_six_digits(db):
    answer = APIClient().post("/api/pair/", {"code": "12345", "device_name": "x"})
    refused(answer, 400, "bad_input")
    assert "six digits" in answer.json()["fields"]["code"][0]


def test_guessing_is_slowed_down(db):
    answers = [
        APIClient().post("/api/pair/", {"code": f"{n:06}", "device_name": "x"}) for n in range(11)
    ]
    refused(answers[9], 403, "wrong_code")
    refused(answers[10], 429, "too_many_tries")
    assert 0 < int(answers[10]["Retry-After"]) <= 60
    assert int(answers[10]["Retry-After"]) == answers[10].json()["retry_after_s"]


def test_a_revoked_phone_is_signed_out_and_told_that_it_loses_nothing(farms):
    path = f"/api/devices/{farms.helper.device.pk}/revoke/"
    assert 200 == farms.owner.client.post(path).status_code
    answer = farms.helper.push(farms.helper.raw("emptied", {"crate": crate_id(1)}))
    refused(answer, 401, "not_signed_in")
    assert "Nothing on it is lost" in answer.json()["message"]


def test_somebody_who_left_is_signed_out(farms):
    ben = Member.objects.get(name="Ben")
    farms.owner.client.patch(f"/api/members/{ben.pk}/", {"active": False})
    refused(farms.helper.client.get("/api/farm/"), 401, "not_signed_in")


@pytest.mark.parametrize("header", ["", "Bearer", "Bearer x y", "Bearer \xff", "Basic eDp5"])
def test_a_wrong_token_is_nobody(db, header):
    refused(APIClient().get("/api/farm/", HTTP_AUTHORIZATION=header), 401, "not_signed_in")


def test_people_are_added_by_the_owner_alone(farms):
    told = {"name": "Uwe", "role": "helper"}
    assert 201 == farms.owner.client.post("/api/members/", told).status_code
    refused(farms.grower.client.post("/api/members/", told), 403, "not_permitted")
    names = [one["name"] for one in farms.viewer.client.get("/api/members/").json()]
    assert ["Ana", "Ben", "Gil", "Uwe", "Vi"] == names


def test_a_name_may_not_hold_half_a_character(farms):
    answer = farms.owner.client.post(
        "/api/members/",
        data=b'{"name": "\\ud800", "role": "helper"}',
        content_type="application/json",
    )
    refused(answer, 400, "bad_input")
