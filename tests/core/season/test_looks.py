"""Due dates: every 14 days for the first six weeks after packing, then monthly; places may differ.

The default interval is common practice, no source; the tests check the rule as this project words it.
"""

import json
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubertrack.core.season import LookRule, due_on

PACKED = date(2026, 11, 3)
# The phone's rule (frontend/src/app/due.ts) is held to the same cases.
CASES = json.loads(Path(__file__).parents[2].joinpath("reference", "due.json").read_text("utf-8"))[
    "cases"
]


def day(text: str) -> date | None:
    return date.fromisoformat(text) if text else None


@pytest.mark.parametrize("case", CASES, ids=[case["what"] for case in CASES])
def test_the_cases_that_the_phone_is_held_to(case) -> None:
    found = due_on(
        day(case["begun"]),
        day(case["looked_on"]),
        LookRule(place_days=case["place_days"] or None),
        look_again_on=day(case["look_again_on"]),
    )
    assert case["due"] == found.isoformat()


def test_never_looked_at_is_due_two_weeks_after_packing() -> None:
    assert date(2026, 11, 17) == due_on(PACKED, None, LookRule())


def test_within_six_weeks_the_next_look_is_two_weeks_on() -> None:
    assert date(2026, 12, 28) == due_on(PACKED, PACKED + timedelta(days=41), LookRule())


def test_from_six_weeks_on_it_is_a_month() -> None:
    assert date(2027, 1, 14) == due_on(PACKED, PACKED + timedelta(days=42), LookRule())


def test_the_place_has_its_own_interval() -> None:
    assert date(2026, 11, 10) == due_on(PACKED, None, LookRule(place_days=7))
    assert date(2027, 2, 8) == due_on(PACKED, date(2027, 2, 1), LookRule(place_days=7))


def test_look_again_brings_the_date_forward_and_never_back() -> None:
    looked = date(2026, 11, 20)
    assert date(2026, 11, 27) == due_on(
        PACKED, looked, LookRule(), look_again_on=date(2026, 11, 27)
    )
    assert date(2026, 12, 4) == due_on(PACKED, looked, LookRule(), look_again_on=date(2027, 2, 1))


def test_an_old_wish_to_look_again_is_used_up_by_a_later_look() -> None:
    assert date(2026, 12, 16) == due_on(
        PACKED, date(2026, 12, 2), LookRule(), look_again_on=date(2026, 11, 27)
    )


def test_a_look_before_this_packing_does_not_count() -> None:
    assert date(2026, 11, 17) == due_on(PACKED, date(2026, 3, 1), LookRule())


@given(
    after=st.integers(0, 300),
    first=st.integers(1, 60),
    weeks=st.integers(0, 20),
    later=st.integers(1, 90),
    place=st.one_of(st.none(), st.integers(1, 90)),
)
def test_a_crate_is_due_after_its_last_look_and_within_the_longest_interval(
    after, first, weeks, later, place
) -> None:
    looked = PACKED + timedelta(days=after)
    wait = (due_on(PACKED, looked, LookRule(first, weeks, later, place)) - looked).days
    assert wait in {first, later, place}
    assert wait >= 1
