"""POST /api/records/: one record by a script, or one clear sentence and nothing stored."""

import json

import pytest

from tests.api.conftest import CODE, stock
from tests.farms import crate_id, lot_id, place_id
from tubertrack.apps.accounts.models import Device, Farm
from tubertrack.apps.records.models import Lot, Record

pytestmark = pytest.mark.django_db


def found(count=5, **told):
    return {
        "kind": "found",
        "occurred_on": "2024-11-14",
        "body": {"lot": lot_id(1), "unit": "tuber", "count": count},
        "client_key": "one",
        **told,
    }


def post(phone, told):
    return phone.client.post(
        "/api/records/", data=json.dumps(told), content_type="application/json"
    )


def refused(answer, status, code, field=None):
    told = answer.json()
    assert (status, code) == (answer.status_code, told["code"]), told
    assert told["message"].endswith((".", "?")), told["message"]
    if field:
        assert field in told["fields"], told
    assert 0 == Record.objects.count()
    return told


def test_a_script_writes_as_the_servers_own_device_with_its_members_rights(farms):
    answer = post(farms.helper, found())
    assert 201 == answer.status_code
    record = Record.objects.get()
    server = Device.objects.get(farm=farms.farm, sort="server")
    assert (server.pk, farms.helper.device.member_id, "helper", 1) == (
        record.device,
        record.author,
        record.role,
        record.device_seq,
    )
    assert {
        "sha256": record.sha256,
        "seq": 1,
        "id": str(record.record_id),
        "kind": "found",
        "occurred_on": "2024-11-14",
    } == answer.json()
    assert 5 == Lot.objects.get().balance


def test_the_same_key_gives_the_same_answer_and_writes_nothing(farms):
    first, again = post(farms.helper, found()), post(farms.helper, found())
    assert (201, 200) == (first.status_code, again.status_code)
    assert first.json() == again.json()
    assert 1 == Record.objects.count()


def test_the_same_key_with_other_words_is_refused(farms):
    post(farms.helper, found())
    answer = post(farms.helper, found(count=6))
    assert (409, "client_key_used") == (answer.status_code, answer.json()["code"])
    assert 201 == post(farms.grower, found(count=6)).status_code  # another member's keys
    assert 2 == Record.objects.count()


def test_without_a_day_it_is_today_and_in_a_demo_farm_its_day(farms):
    Farm.objects.filter(pk=farms.farm.pk).update(as_of="2026-01-20")
    told = {name: value for name, value in found().items() if name != "occurred_on"}
    assert "2026-01-20" == post(farms.helper, told).json()["occurred_on"]
    assert 200 == post(farms.helper, told).status_code


def test_field_set_by_a_script_beats_what_the_farm_has_seen(farms):
    stock(farms.owner, 1)
    body = {"table": "crates", "row": crate_id(1), "field": "number", "value": "77"}
    post(farms.grower, {"kind": "field_set", "body": body, "client_key": "k"})
    assert "77" == farms.owner.client.get(f"/api/crates/{crate_id(1)}/").json()["number"]


def test_each_record_has_the_next_number_of_the_server(farms):
    for key in ("a", "b", "c"):
        post(farms.helper, found(client_key=key))
    assert [1, 2, 3] == list(Record.objects.order_by("seq").values_list("device_seq", flat=True))


@pytest.mark.parametrize(
    ("change", "code", "field", "words"),
    [
        ({"kind": "moon_phase"}, "unknown_kind", "kind", "no such kind"),
        ({"v": 9}, "unknown_kind", "kind", "v 1"),
        ({"occurred_on": "2999-01-01"}, "future_date", "occurred_on", "has not come yet"),
        ({"occurred_on": "2026-02-30"}, "bad_input", "occurred_on", ""),
        ({"occurred_on": "0000-00-00"}, "bad_input", "occurred_on", ""),
        ({"body": {}}, "bad_body", "body.lot", "missing"),
        ({"body": []}, "bad_input", "body", ""),
        ({"client_key": ""}, "bad_input", "client_key", ""),
        ({"client_key": None}, "bad_input", "client_key", ""),
    ],
)
def test_a_wrong_field_is_named(farms, change, code, field, words):
    assert words in refused(post(farms.helper, found(**change)), 400, code, field)["message"]


READING = {"measured_at": 1731578400000}


@pytest.mark.parametrize(
    ("kind", "body", "field", "words"),
    [
        (
            "measured",
            {"place": place_id(1), "readings": [{**READING, "temp_c": 61}]},
            "body.readings.0.temp_c",
            "61 °C is no temperature of a store",
        ),
        (
            "measured",
            {"place": place_id(1), "readings": [{**READING, "rh_pct": 101}]},
            "body.readings.0.rh_pct",
            "between 0 and 100",
        ),
        (
            "checked",
            {"crate": crate_id(1), "look": "top", "lines": [], "inside_temp_c": -41},
            "body.inside_temp_c",
            "no temperature",
        ),
        ("checked", {"crate": crate_id(1), "look": "under", "lines": []}, "body.look", "one of"),
        ("checked", {"look": "top", "lines": []}, "body", "crate or code"),
        ("checked", {"code": "4K7QM2X2", "look": "top", "lines": []}, "body.code", "no code"),
        ("checked", {"code": "tuber", "look": "top", "lines": []}, "body.code", "8 capitals"),
        (
            "checked",
            {"crate": crate_id(1), "look": "top", "lines": [], "look_again_on": "2026-02-30"},
            "body.look_again_on",
            "no day",
        ),
        ("emptied", {"crate": crate_id(1), "note": "x" * 20_001}, "body.note", "Shorten"),
        ("emptied", {"crate": "7"}, "body.crate", "UUID"),
        ("counted", {"lot": lot_id(1), "count": -1}, "body.count", "0 or more"),
        ("counted", {"lot": lot_id(1), "count": 1.5}, "body.count", "whole number"),
        ("counted", {"lot": lot_id(1), "count": True}, "body.count", "whole number"),
        ("counted", {"lot": lot_id(1), "count": 10**30}, "body.count", "or less"),
        ("record_voided", {"target": "abc"}, "body.target", "sha256"),
    ],
)
def test_a_wrong_body_is_one_clear_sentence(farms, kind, body, field, words):
    told = refused(
        post(
            farms.helper,
            {"kind": kind, "body": body, "client_key": "k", "occurred_on": "2024-11-14"},
        ),
        400,
        "bad_body",
        field,
    )
    assert words in " ".join(told["fields"][field])


def test_more_than_64_kib_is_refused(farms):
    told = found()
    told["body"]["x"] = "ä" * 33_000
    refused(post(farms.helper, told), 400, "too_large", "body")


def test_more_thrown_out_than_present_is_taken_and_shows_as_a_problem(farms):
    stock(farms.owner, 1)
    body = {
        "crate": crate_id(1),
        "look": "all",
        "lines": [{"lot": lot_id(1), "removed": {"rot": 99}}],
    }
    told = {"kind": "checked", "body": body, "client_key": "k", "occurred_on": "2024-11-14"}
    assert 201 == post(farms.helper, told).status_code
    codes = {row["code"] for row in farms.owner.client.get("/api/problems/").json()["results"]}
    assert "negative_balance" in codes


@pytest.mark.parametrize(
    "data",
    [
        b"{",
        b"[" * 100_000,
        b"\xff",
        b"[]",
        b"5",
        b'{"a":1',
        b"",
        b'{"kind": "found", "body": {"x": NaN}, "client_key": "k"}',
    ],
)
def test_torn_json_is_one_sentence(farms, data):
    answer = farms.helper.client.post("/api/records/", data=data, content_type="application/json")
    assert 400 == answer.status_code
    assert answer.json()["message"]
    assert 0 == Record.objects.count()


def test_deep_nesting_is_refused(farms):
    told = found()
    told["body"]["x"] = json.loads("[" * 150 + "]" * 150)
    refused(post(farms.helper, told), 400, "unreadable")


def test_strange_texts_are_kept(farms):
    told = found()
    told["body"]["x"] = "\0 \ud800"
    assert 201 == post(farms.helper, told).status_code
    assert b"\\u0000" in bytes(Record.objects.get().raw)


def test_a_kind_beyond_the_role_is_refused(farms):
    body = {"lot": lot_id(1), "variety": "unknown", "unit": "tuber", "count": 3}
    told = {"kind": "bought", "body": body, "client_key": "k"}
    assert "grower may" in refused(post(farms.helper, told), 403, "not_permitted")["message"]
    refused(post(farms.viewer, told), 403, "not_permitted")


def test_a_code_with_its_check_character_is_taken(farms):
    body = {"code": CODE, "look": "top", "lines": []}
    told = {"kind": "checked", "body": body, "client_key": "k", "occurred_on": "2024-11-14"}
    assert 201 == post(farms.helper, told).status_code
