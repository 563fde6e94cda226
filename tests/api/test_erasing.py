"""Forgetting people by the addresses the app uses, and handing out what is kept of them."""

import json
import stat

import pytest
from django.core.management import CommandError, call_command

from tests.farms import crate_id
from tubertrack.apps.accounts.models import Member

pytestmark = pytest.mark.django_db


def erase(phone, member):
    return phone.client.post(f"/api/members/{member.pk}/erase/")


def test_an_erased_person_is_a_bare_id_for_everybody(farms):
    ben = farms.farm.members.get(name="Ben")
    farms.helper.append(farms.helper.raw("emptied", {"crate": crate_id(1)}))
    answer = erase(farms.owner, ben)
    gone = {"id": str(ben.pk), "name": "", "role": "helper", "active": False, "erased": True}
    assert (200, gone) == (answer.status_code, answer.json())
    for path in ("/api/farm/", "/api/members/"):
        told = farms.viewer.client.get(path).json()
        members = told["members"] if path == "/api/farm/" else told
        assert gone in members
        assert "Ben" not in json.dumps(told)
    assert "Ben" not in json.dumps(farms.viewer.client.get("/api/devices/").json())
    assert 401 == farms.helper.client.get("/api/farm/").status_code
    [entry] = farms.owner.pull().json()["entries"]
    assert str(ben.pk) == json.loads(entry["raw"])["author"]
    assert "Ben" not in json.dumps(farms.owner.client.get("/api/records/").json())


def test_what_cannot_be_done_to_an_erased_person(farms):
    ben = farms.farm.members.get(name="Ben")
    erase(farms.owner, ben)
    path = f"/api/members/{ben.pk}/"
    answer = farms.owner.client.patch(path, {"name": "Ben", "active": True})
    assert (409, "erased") == (answer.status_code, answer.json()["code"])
    told = {"member": str(ben.pk)}
    assert 404 == farms.owner.client.post("/api/pairing/", told).status_code
    assert 200 == erase(farms.owner, ben).status_code


def test_the_last_owner_is_not_erased(farms):
    answer = erase(farms.owner, farms.farm.members.get(name="Ana"))
    assert (409, "last_owner") == (answer.status_code, answer.json()["code"])
    assert "Ana" == farms.owner.client.get("/api/farm/").json()["member"]["name"]


def test_nobody_of_another_farm_is_erased(farms):
    assert 404 == erase(farms.owner, farms.other.members.get()).status_code
    assert 0 == Member.objects.filter(erased=True).count()


def test_what_is_kept_of_people_is_handed_out_apart(farms, tmp_path, capsys):
    client = farms.owner.client
    buyer = client.post("/api/buyers/", {"name": "Moss Hollow Nursery", "contact": "m@h.example"})
    sale = {"id": crate_id(1), "buyer": buyer.json()["id"], "price_minor": 5, "currency": "EUR"}
    client.post("/api/sales/", sale)
    farms.cleo.client.post("/api/buyers/", {"name": "Kelder Cross"})
    kept = tmp_path / "people.json"
    call_command("export-people", str(kept), farm=str(farms.farm.pk))
    told = json.loads(kept.read_text("utf-8"))
    assert ["Ana", "Ben", "Gil", "Vi"] == [one["name"] for one in told["members"]]
    assert "ana" == told["members"][0]["sign_in_name"]
    assert ["Moss Hollow Nursery"] == [one["name"] for one in told["buyers"]]
    assert [{**sale, "note": ""}] == told["sales"]
    assert 0o600 == stat.S_IMODE(kept.stat().st_mode)
    with pytest.raises(CommandError, match="there already"):
        call_command("export-people", str(kept), farm=str(farms.farm.pk))
    with pytest.raises(CommandError, match="Tarrowby"):
        call_command("export-people", "-")
    call_command("export-people", "-", farm=str(farms.other.pk))
    assert "Kelder Cross" in capsys.readouterr().out
