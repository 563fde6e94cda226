"""Making, reading and showing codes. The vectors are read by the TypeScript twin as well."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubertrack.core.codes import (
    ALPHABET,
    LONGEST_QR_TEXT,
    check_character,
    code_from_bytes,
    is_valid_code,
    known_codes_one_away,
    normalise_code,
    qr_text,
    show_code,
)

VECTORS: dict[str, Any] = json.loads(
    (Path(__file__).parents[2] / "reference" / "codes.json").read_text("utf-8")
)
five_bytes = st.binary(min_size=5, max_size=5)
made_codes = five_bytes.map(code_from_bytes).filter(lambda code: code is not None)


@pytest.mark.parametrize("vector", VECTORS["check_characters"], ids=lambda one: one["text"])
def test_check_character_of_the_vectors(vector: dict[str, str]) -> None:
    assert vector["check"] == check_character(vector["text"]), vector["source"]


@pytest.mark.parametrize("vector", VECTORS["made_of_bytes"], ids=lambda one: one["bytes"])
def test_code_made_of_bytes(vector: dict[str, str | None]) -> None:
    assert vector["code"] == code_from_bytes(bytes.fromhex(vector["bytes"] or ""))


@pytest.mark.parametrize("vector", VECTORS["read"], ids=lambda one: repr(one["text"])[:40])
def test_what_a_text_is_read_as(vector: dict[str, str | None]) -> None:
    assert vector["code"] == normalise_code(vector["text"] or "")


@pytest.mark.parametrize("vector", VECTORS["valid"], ids=lambda one: one["code"])
def test_which_codes_are_valid(vector: dict[str, Any]) -> None:
    assert vector["valid"] == is_valid_code(vector["code"])


@pytest.mark.parametrize("vector", VECTORS["one_slip"], ids=lambda one: repr(one["typed"])[:40])
def test_known_codes_near_a_mistyped_one(vector: dict[str, Any]) -> None:
    assert vector["near"] == known_codes_one_away(vector["typed"], VECTORS["known"])


def test_the_vectors_hold_a_refused_beginning_and_both_answers() -> None:
    assert any(one["code"] is None for one in VECTORS["made_of_bytes"])
    assert {True, False} == {one["valid"] for one in VECTORS["valid"]}


@given(random_bytes=five_bytes)
def test_a_code_is_valid_and_free_of_look_alikes_or_it_is_not_made(random_bytes: bytes) -> None:
    code = code_from_bytes(random_bytes)
    beginning = "".join(
        ALPHABET[int.from_bytes(random_bytes, "big") >> shift & 31] for shift in range(30, -5, -5)
    )

    if check_character(beginning) in "ILOU":
        assert code is None
    else:
        assert code is not None
        assert code.startswith(beginning)
        assert is_valid_code(code)
        assert not set(code) & set("ILOU")


@pytest.mark.parametrize("length", [0, 4, 6])
def test_any_other_number_of_bytes_is_refused(length: int) -> None:
    with pytest.raises(ValueError, match="5 bytes"):
        code_from_bytes(bytes(length))


@given(code=made_codes, host=st.sampled_from(["FARM.EXAMPLE", "a.example", "10.0.0.1:8443", "x"]))
def test_a_code_is_read_back_however_it_is_written(code: str, host: str) -> None:
    as_people_write = [
        code,
        show_code(code),
        show_code(code).lower(),
        " ".join(code),
        code.replace("1", "l").replace("0", "o"),
        f"HTTPS://{host}/{code}",
        f"http://{host}/a/b/{code.lower()}/",
    ]

    assert {code} == {normalise_code(text) for text in as_people_write}


@given(text=st.text(max_size=60))
def test_any_text_is_read_as_a_code_or_as_none(text: str) -> None:
    read = normalise_code(text)
    assert read is None or (len(read) == 8 and set(read) <= set(ALPHABET))


@given(code=made_codes, place=st.integers(0, 7), other=st.sampled_from(ALPHABET))
def test_a_code_with_one_wrong_character_leads_back_to_it(
    code: str, place: int, other: str
) -> None:
    typed = code[:place] + other + code[place + 1 :]
    assert ([] if typed == code else [code]) == known_codes_one_away(show_code(typed), [code])


def test_shown_in_two_groups_of_four() -> None:
    assert "4K7Q-M2X1" == show_code("4K7QM2X1")


@pytest.mark.parametrize(
    ("host", "printed"),
    [
        ("", "4K7QM2X1"),
        ("farm.example", "HTTPS://FARM.EXAMPLE/4K7QM2X1"),
        ("FARM.EXAMPLE.", "HTTPS://FARM.EXAMPLE/4K7QM2X1"),
        ("farms.example", "4K7QM2X1"),  # 30 characters
        ("192.0.2.7", "4K7QM2X1"),
        ("farm.local", "4K7QM2X1"),
        ("barn.lan", "4K7QM2X1"),
        ("x.home.arpa", "4K7QM2X1"),
        ("localhost", "4K7QM2X1"),
        ("f.example:80", "4K7QM2X1"),
        ("f_m.example", "4K7QM2X1"),
        ("ü.example", "4K7QM2X1"),
    ],
)
def test_the_qr_code_holds_a_public_address_that_fits_or_the_code(host: str, printed: str) -> None:
    assert printed == qr_text("4K7QM2X1", host)
    assert len(printed) <= LONGEST_QR_TEXT
    assert "4K7QM2X1" == normalise_code(printed)


def test_the_longest_text_is_what_the_symbol_holds() -> None:
    """ISO/IEC 18004: version 2 at level Q holds 29 alphanumeric characters. Referee: segno."""
    import segno

    fits = segno.make("A" * LONGEST_QR_TEXT, error="q", boost_error=False, micro=False)
    too_long = segno.make("A" * (LONGEST_QR_TEXT + 1), error="q", boost_error=False, micro=False)

    assert (2, 25, "alphanumeric") == (fits.version, fits.symbol_size(border=0)[0], fits.mode)
    assert 3 == too_long.version
