"""Winters by the date of packing."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubertrack.core.season import Season, season_for, winter_of, winter_starts_on

days = st.dates(min_value=date(1990, 1, 1), max_value=date(2098, 12, 31))
months = st.integers(1, 12)


@pytest.mark.parametrize(
    ("packed_on", "winter"),
    [
        (date(2026, 10, 12), "2026/27"),
        (date(2026, 12, 31), "2026/27"),
        (date(2027, 1, 1), "2026/27"),
        (date(2027, 6, 30), "2026/27"),
        (date(2027, 7, 1), "2027/28"),
        (date(1999, 11, 3), "1999/00"),
    ],
)
def test_northern_winter_carries_both_years(packed_on: date, winter: str) -> None:
    assert winter == winter_of(packed_on)


@pytest.mark.parametrize(
    ("packed_on", "winter"),
    [
        (date(2026, 5, 20), "2026"),
        (date(2026, 12, 31), "2026"),
        (date(2027, 1, 5), "2027"),
    ],
)
def test_southern_winter_lies_in_one_year(packed_on: date, winter: str) -> None:
    assert winter == winter_of(packed_on, hemisphere="south")


def test_a_southern_packing_after_the_last_month_belongs_to_the_coming_winter() -> None:
    assert winter_of(date(2026, 11, 2), start_month=4, end_month=10, hemisphere="south") == "2027"


def test_the_farms_own_months_win() -> None:
    assert winter_of(date(2027, 6, 1), start_month=10, end_month=5) == "2027/28"


def test_a_month_that_does_not_exist_is_refused() -> None:
    with pytest.raises(ValueError, match="from 1 to 12, not 13"):
        winter_of(date(2026, 1, 1), end_month=13)


@given(day=days, start=months, end=months)
def test_every_day_from_the_first_month_to_the_last_is_in_the_winter_that_starts_there(
    day, start, end
) -> None:
    season = Season(start, end)
    winter = winter_of(day, start, end)
    begins = winter_starts_on(winter, season)
    # months from the first day of the winter to the day, negative in the gap before it
    passed = (day.year - begins.year) * 12 + day.month - begins.month
    length = (end - start) % 12 + 1
    assert length - 12 <= passed < length


@given(day=days)
def test_one_year_later_is_the_next_winter(day) -> None:
    later = day.replace(year=day.year + 1, day=min(day.day, 28))
    assert (
        winter_starts_on(winter_of(day), season_for()).year + 1
        == winter_starts_on(winter_of(later), season_for()).year
    )


@pytest.mark.parametrize("name", ["", "26/27", "2026/28", "2026-27", "winter", "2026"])
def test_a_name_that_is_no_winter_gets_a_sentence(name: str) -> None:
    with pytest.raises(ValueError, match=r"is not a winter. Write it like 2026/27"):
        winter_starts_on(name, season_for())
