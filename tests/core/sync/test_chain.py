"""The chain against links written byte by byte (tests/reference/chain.json, read by both languages)."""

import hashlib
import json
from dataclasses import fields, replace
from pathlib import Path

import pytest

from tubertrack.core.sync.chain import START, Link, next_chain

LINKS = json.loads((Path(__file__).parents[2] / "reference" / "chain.json").read_text("utf-8"))


def link_of(case: dict) -> Link:
    told = {field.name: case[field.name] for field in fields(Link) if field.name != "stamp"}
    told["held"] = told["held"] or ""
    stamp = case["stamp_eff"]
    return Link(**told, stamp=None if stamp is None else tuple(stamp))


@pytest.mark.parametrize(
    "case", LINKS, ids=lambda case: f"{case['seq']}-{case['held'] or ''}{case['role']}"
)
def test_each_link_of_the_reference_is_found_again(case):
    assert case["chain"] == next_chain(bytes.fromhex(case["prev"]), link_of(case)).hex()
    assert case["chain"] == hashlib.sha256(bytes.fromhex(case["input_hex"])).hexdigest()[:32]


def test_the_reference_begins_at_the_start_and_never_breaks():
    assert [START.hex(), *(case["chain"] for case in LINKS[:-1])] == [c["prev"] for c in LINKS]


@pytest.mark.parametrize(
    "change",
    [
        {"sha256": "ab" * 32},
        {"seq": 7},
        {"received_at": 5},
        {"received_on": "2026-11-15"},
        {"recorded_on": "2026-11-15"},
        {"stamp": (0, 0)},
        {"held": "bad_body"},
        {"role": "owner"},
    ],
)
def test_all_that_the_server_adds_is_in_the_chain(change):
    link = link_of(LINKS[0])
    assert next_chain(START, link) != next_chain(START, replace(link, **change))


def test_a_held_code_cannot_be_shifted_into_the_role():
    link = replace(link_of(LINKS[0]), held="ab", role="c")
    assert next_chain(START, link) != next_chain(START, replace(link, held="a", role="bc"))
