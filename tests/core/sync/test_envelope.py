"""Reading any bytes whatever: an envelope or a reason, never an exception."""

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tubertrack.core.sync.envelope import BIGGEST_INT, Envelope, Unreadable, is_day, read_envelope

ID = "018f6b1e-7c1a-7000-8000-0000000000{:02x}".format
WHOLE = {
    "id": ID(1),
    "farm": ID(2),
    "device": ID(3),
    "device_seq": 1,
    "author": ID(4),
    "kind": "emptied",
    "v": 1,
    "occurred_on": "2026-11-14",
    "recorded_at": 1794650400000,
    "body": {"crate": ID(5)},
}


def raw(**changes) -> bytes:
    return json.dumps({**WHOLE, **changes}).encode()


def code(data: bytes) -> str:
    found = read_envelope(data)
    return found.code if isinstance(found, Unreadable) else ""


def test_a_whole_envelope_is_read_field_by_field():
    assert Envelope(**WHOLE, stamp=None) == read_envelope(raw())


def test_unknown_fields_are_let_by():
    assert Envelope(**WHOLE, stamp=None) == read_envelope(raw(colour_of_the_sky="grey"))


@pytest.mark.parametrize("name", list(WHOLE))
def test_each_field_is_needed(name):
    told = {key: value for key, value in WHOLE.items() if key != name}
    assert "bad_envelope" == code(json.dumps(told).encode())


@pytest.mark.parametrize(
    "change",
    [
        {"id": ID(1).upper()},
        {"id": ID(1) + "\n"},
        {"farm": 5},
        {"device_seq": 0},
        {"device_seq": True},
        {"device_seq": 1.5},
        {"device_seq": BIGGEST_INT + 1},
        {"v": 0},
        {"v": "1"},
        {"kind": ""},
        {"kind": "Emptied"},
        {"kind": "e" * 61},
        {"occurred_on": "0000-00-00"},
        {"occurred_on": "2026-02-30"},
        {"occurred_on": "2026-2-3"},
        {"occurred_on": "2026-11-14T00:00"},
        {"occurred_on": "٢٠٢٦-١١-١٤"},
        {"recorded_at": -1},
        {"recorded_at": "1794650400000"},
        {"recorded_at": 2**53},
        {"body": []},
        {"body": None},
        {"kind": "field_set"},
        {"kind": "field_set", "stamp": [1]},
        {"kind": "field_set", "stamp": [1, 2**32]},
        {"kind": "field_set", "stamp": [True, 0]},
        {"kind": "field_set", "stamp": {"0": 1, "1": 2}},
    ],
)
def test_a_field_of_the_wrong_form_makes_a_bad_envelope(change):
    assert "bad_envelope" == code(raw(**change))


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"null",
        b"[]",
        b'"text"',
        b"{",
        b"\xef\xbb\xbf" + raw(),
        b"\xff\xfe{}",
        b'{"a": "\xed\xa0\x80"}',
        raw().replace(b"1794650400000", b"NaN"),
        raw().replace(b"1794650400000", b"-Infinity"),
        b"[" * 1000 + b"]" * 1000,
        raw(deep=json.loads("[" * 200 + "]" * 200)),
        b"[" * 1_000_000,
        b'{"a":' * 100_000,
        b'"' + b'\\"' * 300_000 + b"[" * 200 + b"\\",
    ],
    ids=lambda data: f"{data[:12]!r}-{len(data)}",
)
def test_what_is_no_json_object_is_unreadable(data):
    assert "unreadable" == code(data)


def test_brackets_in_a_text_are_not_depth():
    assert "" == code(raw(body={"crate": ID(5), "note": '[{"' * 500}))


def test_depth_is_counted_to_the_letter():
    def nested(depth):  # the envelope itself is one level
        return raw().replace(b'"body"', b'"x": ' + b"[" * depth + b"]" * depth + b', "body"')

    assert "" == code(nested(99))
    assert "unreadable" == code(nested(100))


def test_of_a_repeated_key_the_last_counts():
    data = raw().replace(b'"v": 1', b'"v": 3, "v": 2')
    assert 2 == read_envelope(data).v


def test_numbers_are_read_as_javascript_reads_them():
    data = raw(body={}).replace(
        b'"body": {}',
        b'"body": {"a": 3.0, "b": 9007199254740993, "c": 1e2, "d": -0.0, "e": 0.5, "f": 1e400}',
    )
    read = read_envelope(data).body
    assert {"a": 3, "b": 9007199254740992, "c": 100, "d": 0, "e": 0.5, "f": float("inf")} == read
    assert [int, int, int, int, float, float] == [type(value) for value in read.values()]


def test_a_number_of_5000_figures_is_only_a_number():
    assert "" == code(raw().replace(b'"body"', b'"x": ' + b"9" * 5000 + b', "body"'))


def test_nul_and_lone_surrogates_in_texts_are_read():
    note = read_envelope(raw(body={"note": "\0 \ud800 \U0001f954"})).body["note"]
    assert "\0 \ud800 \U0001f954" == note


def test_field_set_carries_its_stamp_and_others_carry_none():
    assert (7, 2) == read_envelope(raw(kind="field_set", stamp=[7, 2])).stamp
    assert read_envelope(raw(stamp="anything")).stamp is None


@pytest.mark.parametrize("day", ["0001-01-01", "2024-02-29", "9999-12-31"])
def test_days_of_the_calendar(day):
    assert is_day(day)


@pytest.mark.parametrize("day", ["0000-01-01", "2023-02-29", "20240229", "2024-W01-1", "", None, 5])
def test_what_is_no_day_of_the_calendar(day):
    assert not is_day(day)


@given(st.binary(max_size=400))
def test_no_bytes_raise(data):
    assert isinstance(read_envelope(data), Envelope | Unreadable)


@settings(suppress_health_check=[HealthCheck.too_slow])  # a busy machine is no finding
@given(
    st.dictionaries(
        st.sampled_from([*WHOLE, "stamp", "other"]),
        st.recursive(
            st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
            lambda inner: (
                st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3)
            ),
            max_leaves=5,
        ),
        max_size=6,
    )
)
def test_no_values_in_an_envelope_raise(changes):
    assert isinstance(read_envelope(raw(**changes)), Envelope | Unreadable)


@given(st.data())
def test_a_torn_envelope_is_never_taken_for_another(data):
    whole = raw()
    cut = data.draw(st.integers(0, len(whole) - 1))
    assert "unreadable" == code(whole[:cut])
