"""Winters by the date of packing.

A winter has a first and a last month. Months after the last one belong to the coming winter, so a
crate packed early is never counted to the winter that is already over.
"""

from dataclasses import dataclass
from datetime import date

MONTHS = 12
NORTH_FIRST, NORTH_LAST = 9, 6
SOUTH_FIRST, SOUTH_LAST = 3, 12


@dataclass(frozen=True)
class Season:
    """First and last month (1 to 12) of the time in which stock lies in store."""

    start_month: int
    end_month: int

    def __post_init__(self) -> None:
        for month in (self.start_month, self.end_month):
            if not 1 <= month <= MONTHS:
                raise ValueError(f"A month is a number from 1 to 12, not {month}.")

    @property
    def spans_new_year(self) -> bool:
        """True when the winter begins in one year and ends in the next."""
        return self.start_month > self.end_month


def season_for(
    hemisphere: str = "north",
    start_month: int | None = None,
    end_month: int | None = None,
) -> Season:
    """The winter of a farm: its own months where set, else September to June, in the south March to December.

    Source of the defaults: common practice, no source (digging October to November, planting out
    April to mid June in the north; half a year later in the south).
    """
    first, last = (SOUTH_FIRST, SOUTH_LAST) if hemisphere == "south" else (NORTH_FIRST, NORTH_LAST)
    return Season(start_month or first, end_month or last)


def winter_of(
    packed_on: date,
    start_month: int | None = None,
    end_month: int | None = None,
    hemisphere: str = "north",
) -> str:
    """Name of the winter a packing belongs to: "2026/27", or "2026" where a winter lies in one year.

    Errors: ValueError for a month outside 1 to 12.
    """
    season = season_for(hemisphere, start_month, end_month)
    later = packed_on.month > season.end_month
    if season.spans_new_year:
        first_year = packed_on.year if later else packed_on.year - 1
        return f"{first_year}/{(first_year + 1) % 100:02d}"
    return str(packed_on.year + 1 if later else packed_on.year)


def winter_starts_on(winter: str, season: Season) -> date:
    """First day of the winter's first month.

    Errors: ValueError with a sentence when the name is not like "2026/27" (or "2026").
    """
    first, _, rest = winter.partition("/")
    is_name = (
        first.isdigit()
        and len(first) == 4
        and (not rest or rest == f"{(int(first) + 1) % 100:02d}")
    )
    if not is_name or bool(rest) != season.spans_new_year:
        example = "2026/27" if season.spans_new_year else "2026"
        raise ValueError(f"“{winter}” is not a winter. Write it like {example}.")
    return date(int(first), season.start_month, 1)
