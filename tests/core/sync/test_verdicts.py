"""A verdict depends on the record, the role at receipt and quarantine, and nothing is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.sync.test_envelope import ID, WHOLE, raw
from tubertrack.core.stock import kinds
from tubertrack.core.sync.envelope import read_envelope
from tubertrack.core.sync.stamps import effective_stamp
from tubertrack.core.sync.verdicts import HELD_CODES, MOST_BYTES, lesser_role, verdict


def judge(data: bytes = b"", *, role="owner", farm_id=WHOLE["farm"], quarantined=False, size=None):
    data = data or raw()
    return verdict(
        read_envelope(data),
        size=len(data) if size is None else size,
        role=role,
        farm_id=farm_id,
        quarantined=quarantined,
    )


def test_a_fit_record_of_a_member_counts():
    assert "" == judge()


@pytest.mark.parametrize(
    ("code", "found"),
    [
        ("unreadable", judge(b"{")),
        ("bad_envelope", judge(b"{}")),
        ("wrong_farm", judge(farm_id=ID(9))),
        ("too_large", judge(size=MOST_BYTES + 1)),
        ("quarantined", judge(quarantined=True)),
        ("unknown_kind", judge(raw(kind="moon_phase"))),
        ("newer_version", judge(raw(v=2))),
        ("bad_body", judge(raw(body={"crate": "K7"}))),
        ("not_permitted", judge(role="viewer")),
        ("not_permitted", judge(role="")),
    ],
)
def test_each_reason_to_set_aside(code, found):
    assert code == found


def test_every_held_code_is_reached_by_the_table_above():
    marks = test_each_reason_to_set_aside.pytestmark
    assert set(HELD_CODES) == {code for code, _ in marks[0].args[1]}


def test_64_kib_is_the_last_size_that_counts():
    assert "" == judge(size=MOST_BYTES)


@pytest.mark.parametrize("kind", sorted(kinds.ranks()))
@pytest.mark.parametrize("role", kinds.roles())
def test_the_table_of_rights_decides_who_writes_what(kind, role):
    least = kinds.least_roles()[kind]
    allowed = kinds.roles().index(role) >= kinds.roles().index(least)
    assert allowed == kinds.may_write(role, kind)


def test_every_kind_has_a_rank_a_right_and_a_schema():
    assert set(kinds.ranks()) == set(kinds.least_roles()) == {kind for kind, _ in kinds.schemas()}


@pytest.mark.parametrize(
    ("author", "pusher", "role"),
    [
        ("owner", "helper", "helper"),
        ("helper", "owner", "helper"),
        ("server", "grower", "grower"),
        ("", "owner", ""),
        ("owner", "", ""),
        ("king", "owner", ""),
    ],
)
def test_a_relayed_record_has_the_lesser_rights(author, pusher, role):
    assert role == lesser_role(author, pusher)


@pytest.mark.parametrize(
    "value",
    ["K7\n", ID(5) + "\n", "x" + ID(5)],
)
def test_an_id_with_anything_round_it_does_not_fit(value):
    assert "bad_body" == judge(raw(body={"crate": value}))


def test_a_whole_number_written_with_a_point_is_a_whole_number():
    data = raw(kind="counted", body={"lot": ID(5)}).replace(b'"lot"', b'"count": 3.0, "lot"')
    assert "" == judge(data)
    assert 3 == read_envelope(data).body["count"]


@given(st.binary(max_size=200), st.sampled_from(kinds.roles()), st.booleans())
def test_any_bytes_get_a_verdict(data, role, quarantined):
    assert judge(data or b" ", role=role, quarantined=quarantined) in {"", *HELD_CODES}


TIMES = st.integers(0, 2**53 - 1)


@given(TIMES, st.integers(0, 2**32 - 1), TIMES)
def test_no_stamp_lies_after_its_receipt(ms, counter, received_at):
    stamp = effective_stamp((ms, counter), received_at)
    assert stamp[0] <= received_at
    assert stamp == ((ms, counter) if ms <= received_at else (received_at, 0))


@given(TIMES, TIMES)
def test_an_edit_after_a_receipt_beats_the_received_one(claimed, received_at):
    first = effective_stamp((claimed, 5), received_at)
    later = effective_stamp((max(first[0], received_at), first[1] + 1), received_at + 1)
    assert first < later


def test_no_stamp_stays_no_stamp():
    assert effective_stamp(None, 5) is None
    assert WHOLE["kind"] != "field_set"
