"""Push and pull by their addresses: all kept, all given back, byte for byte."""

import json

import pytest
from rest_framework.test import APIClient

from tests.farms import crate_id
from tubertrack.apps.records.models import Record
from tubertrack.apps.sync.api import MOST_REQUEST_BYTES
from tubertrack.core.sync.chain import START, Link, next_chain

pytestmark = pytest.mark.django_db


def emptied(phone, n=1, **told):
    return phone.raw("emptied", {"crate": crate_id(n)}, **told)


def test_a_push_answers_with_a_verdict_for_each_record_and_the_head(farms):
    answer = farms.helper.push(emptied(farms.helper), b"{").json()
    assert ["stored", "held"] == [one["verdict"] for one in answer["verdicts"]]
    assert [1, 2] == [one["seq"] for one in answer["verdicts"]]
    assert "unreadable" == answer["verdicts"][1]["code"]
    assert [2, bytes(Record.objects.get(seq=2).chain).hex()] == answer["head"]
    assert answer["server_time"] > 0


def test_a_phone_can_check_the_chain_of_what_it_pulls(farms):
    farms.owner.push(
        farms.owner.raw(
            "field_set",
            {"table": "crates", "row": crate_id(1), "field": "number", "value": "12"},
            stamp=[2**50, 1],
        ),
        emptied(farms.helper),
        b"{",
    )
    answer = farms.helper.pull().json()
    chain = START
    for entry in answer["entries"]:
        record = Record.objects.get(seq=entry["seq"])
        link = Link(
            sha256=record.sha256,
            seq=entry["seq"],
            received_at=entry["received_at"],
            received_on=entry["received_on"],
            recorded_on=entry["recorded_on"],
            stamp=tuple(entry["stamp_eff"]) if "stamp_eff" in entry else None,
            held=entry.get("held", ""),
            role=entry["role"],
        )
        chain = next_chain(chain, link)
        assert chain.hex() == entry["chain"]
    assert [3, chain.hex()] == answer["head"]
    assert [answer["entries"][0]["received_at"], 0] == answer["entries"][0]["stamp_eff"]
    assert str(farms.owner.device.pk) == answer["entries"][1]["relayed_by"]


def test_pages_follow_each_other_without_a_hole(farms):
    for start in range(0, 10, 5):
        farms.helper.push(*(emptied(farms.helper, start + n) for n in range(5)))
    cursor, seqs = "0", []
    while True:
        entries = farms.helper.pull(cursor, limit=3).json()["entries"]
        if not entries:
            break
        seqs += [entry["seq"] for entry in entries]
        cursor = f"{entries[-1]['seq']}:{entries[-1]['chain']}"
    assert list(range(1, 11)) == seqs


def test_a_page_ends_at_500_entries(farms):
    for _ in range(3):
        farms.helper.append(*(emptied(farms.helper, n) for n in range(200)))
    assert 500 == len(farms.helper.pull(limit=9999).json()["entries"])


def test_a_page_ends_at_1_mib(farms):
    for _ in range(3):
        farms.helper.push(b"x" * 600_000 + str(farms.helper.written).encode())
        farms.helper.written += 1
    assert [1] == [entry["seq"] for entry in farms.helper.pull().json()["entries"]]


def test_a_push_of_200_is_taken_and_201_are_sent_back_whole(farms):
    raws = [emptied(farms.helper, n) for n in range(201)]
    answer = farms.helper.push(*raws)
    assert (413, "too_large") == (answer.status_code, answer.json()["code"])
    assert 0 == Record.objects.count()
    assert 200 == farms.helper.push(*raws[:200]).status_code
    assert 200 == Record.objects.count()


def test_more_than_1_mib_is_sent_back(farms):
    answer = farms.helper.push(b"x" * (1024 * 1024 + 1))
    assert (413, "too_large") == (answer.status_code, answer.json()["code"])
    assert 0 == Record.objects.count()


def test_a_record_of_up_to_1_mib_is_kept_and_set_aside(farms):
    raw = emptied(farms.helper, note="x" * (1024 * 1024 - 500))
    answer = farms.helper.push(raw)
    assert "too_large" == answer.json()["verdicts"][0]["code"]
    assert raw == bytes(Record.objects.get().raw)


class Unread:
    """A body that fails the test when somebody reads it."""

    def read(self, *_):
        raise AssertionError("read before it was refused")


def test_a_huge_request_is_refused_by_its_length_alone(farms, rf):
    from tubertrack.apps.sync.api import PushView

    request = rf.post("/sync/v1/push", content_type="application/json")
    request.META["CONTENT_LENGTH"] = str(MOST_REQUEST_BYTES + 1)
    request.META["HTTP_AUTHORIZATION"] = f"Bearer {farms.helper.token}"
    request._stream = Unread()
    assert 413 == PushView.as_view()(request).status_code


@pytest.mark.parametrize(
    ("body", "about"),
    [
        (b"{", None),
        (b"[" * 100_000, None),
        (b"\xff", None),
        (b"[]", "records"),
        (b"5", "records"),
        (b'{"protocol": 1}', "records"),
        (b'{"protocol": 1, "device": "DEVICE", "records": "x"}', "records"),
        (b'{"protocol": 1, "device": "DEVICE", "records": [5]}', "records"),
        (b'{"protocol": 1, "device": "DEVICE", "records": ["{}", {}]}', "records"),
        (b'{"protocol": 2, "device": "DEVICE", "records": []}', "protocol"),
        (b'{"protocol": 1, "device": "other", "records": []}', "device"),
    ],
)
def test_what_is_no_push_is_refused_whole(farms, body, about):
    body = body.replace(b"DEVICE", str(farms.helper.device.pk).encode())
    answer = farms.helper.client.post("/sync/v1/push", data=body, content_type="application/json")
    assert 400 == answer.status_code
    assert {"code", "message"} <= set(answer.json())
    assert ([about] if about else []) == list(answer.json().get("fields", {}))
    assert 0 == Record.objects.count()


def test_an_empty_push_is_fine(farms):
    assert {"verdicts": [], "head": [0, "0" * 32]}.items() <= farms.helper.push().json().items()


def test_a_cursor_beyond_the_head_or_of_another_history_is_told_so(farms):
    farms.helper.push(emptied(farms.helper))
    chain = farms.helper.pull().json()["head"][1]
    assert 200 == farms.helper.pull(f"1:{chain}").status_code
    for after in (f"2:{chain}", "1:" + "0" * 32, "0:" + "f" * 32, f"1000000000000000:{chain}"):
        answer = farms.helper.pull(after)
        assert (409, "history_changed") == (answer.status_code, answer.json()["code"])


@pytest.mark.parametrize("after", ["", "x", "1", "-1:" + "0" * 32, "1:xyz", "1:" + "A" * 32, "٣:"])
def test_a_cursor_of_the_wrong_form_is_refused(farms, after):
    answer = farms.helper.pull(after)
    assert 400 == answer.status_code
    assert ["after"] == list(answer.json()["fields"])


def test_neither_door_opens_without_a_token(db):
    assert 401 == APIClient().post("/sync/v1/push", {}, format="json").status_code
    assert 401 == APIClient().get("/sync/v1/pull").status_code


def test_a_viewer_s_phone_may_relay_but_its_records_are_set_aside(farms):
    answer = farms.viewer.push(emptied(farms.viewer)).json()
    assert "not_permitted" == answer["verdicts"][0]["code"]


def test_the_feed_holds_nothing_of_another_farm(farms):
    farms.cleo.push(*(emptied(farms.cleo, n) for n in (1, 2, 3)))
    farms.owner.push(emptied(farms.owner))
    cursor = farms.cleo.pull().json()["head"]
    [own] = farms.owner.pull().json()["entries"]
    assert str(farms.owner.device.pk) == json.loads(own["raw"])["device"]
    assert 409 == farms.owner.pull(f"{cursor[0]}:{cursor[1]}").status_code


@pytest.mark.parametrize("limit", ["0", "-5", "x", "", "1e9", "٣", "99999999999999"])
def test_a_strange_limit_is_no_error(farms, limit):
    farms.helper.push(emptied(farms.helper))
    assert 1 == len(farms.helper.pull(limit=limit).json()["entries"])


def test_pulling_costs_the_same_for_any_page(farms, django_assert_num_queries):
    farms.helper.append(*(emptied(farms.helper, n) for n in range(30)))
    farms.helper.pull()
    for limit in (3, 30):
        with django_assert_num_queries(4):
            farms.helper.pull(limit=limit)


def test_sent_text_is_the_text_that_was_pushed(farms):
    raw = '{"a":"ä🥔\\u0000\\ud800\u2028"}'
    farms.helper.push(raw)
    assert raw == farms.helper.pull().json()["entries"][0]["raw"]
    assert raw == json.loads(farms.helper.pull().content)["entries"][0]["raw"]
