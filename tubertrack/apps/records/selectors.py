"""What one may ask about a farm's stock beside the tables themselves."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from tubertrack.apps.accounts.models import Device, Farm, Member
from tubertrack.apps.records.log import civil_date, entry_of
from tubertrack.apps.records.models import (
    CheckLine,
    Crate,
    HeldEntry,
    Lot,
    Record,
    Setting,
    Stay,
    Variety,
)
from tubertrack.apps.records.projections import clean
from tubertrack.core.season import Season, season_for

MONTHS = 12


def today(farm: Farm, *, now: int) -> str:
    """The farm's date at `now` ms UTC, or the day on which a demo farm stands still."""
    return farm.as_of or civil_date(now, ZoneInfo(farm.time_zone))


def settings_of(farm: Farm) -> dict[str, Any]:
    """The farm's settings by name."""
    return dict(Setting.objects.filter(farm=farm).values_list("uid", "value"))


def season_of(farm: Farm) -> Season:
    """The months of the farm's winter, by its settings."""
    told = settings_of(farm)
    start, end = (_month(told.get(name)) for name in ("winter_start_month", "winter_end_month"))
    return season_for("south" if told.get("hemisphere") == "south" else "north", start, end)


def _month(value: Any) -> int | None:
    return value if type(value) is int and 1 <= value <= MONTHS else None


def days_of_winter(winter: str, season: Season) -> tuple[str, str]:
    """(first day, first day after) of the packings that belong to a winter such as "2026/27".

    ValueError for another form or a year that no calendar has.
    """
    first, _, second = winter.partition("/")
    if not (first.isascii() and first.isdigit() and len(first) == len("2026")):
        raise ValueError(winter)
    year = int(first)
    if second != (f"{(year + 1) % 100:02}" if season.spans_new_year else ""):
        raise ValueError(winter)
    last_year = year + 1 if season.spans_new_year else year
    month = season.end_month % MONTHS + 1
    turn = 1 if season.end_month == MONTHS else 0
    begins, ends = (date(last_year - 1 + n + turn, month, 1) for n in (0, 1))
    return begins.isoformat(), ends.isoformat()


def variety_names(farm: Farm, uids: Iterable[str]) -> dict[str, str]:
    """Names of varieties by id."""
    found = Variety.objects.filter(farm=farm, uid__in=set(uids))
    return dict(found.values_list("uid", "name"))


def crate_names(farm: Farm, uids: Iterable[str]) -> dict[str, str]:
    """What people call crates: number, or name, or code, by id."""
    found = Crate.objects.filter(farm=farm, uid__in=set(uids) - {""})
    return {
        uid: number or name or code
        for uid, number, name, code in found.values_list("uid", "number", "name", "code")
    }


def people_and_devices(farm: Farm) -> dict[str, str]:
    """Names of members and devices by id: who wrote an entry, and on which phone."""
    people = Member.objects.filter(farm=farm).values_list("pk", "name")
    devices = Device.objects.filter(farm=farm).values_list("pk", "name")
    return {str(pk): name for pk, name in (*people, *devices)}


def lots_by_crate(farm: Farm, crates: Iterable[str]) -> dict[str, list[Lot]]:
    """What lies in each crate now."""
    found: dict[str, list[Lot]] = defaultdict(list)
    lots = Lot.objects.filter(farm=farm, container__in=set(crates)).exclude(balance=0)
    for lot in lots.order_by("uid"):
        found[lot.container].append(lot)
    return found


def lines_by_check(farm: Farm, checks: Iterable[str]) -> dict[str, list[CheckLine]]:
    """The lines of each check, in order."""
    found: dict[str, list[CheckLine]] = defaultdict(list)
    lines = CheckLine.objects.filter(farm=farm, check_uid__in=set(checks))
    for line in lines.order_by("check_uid", "number"):
        found[line.check_uid].append(line)
    return found


def stays_of(farm: Farm, lot: str) -> Sequence[Stay]:
    """Where a lot has lain, in order."""
    return list(Stay.objects.filter(farm=farm, lot=lot).order_by("number"))


def records_by_sha(farm: Farm, shas: Iterable[str]) -> dict[str, Record]:
    """Records by hash."""
    found = Record.objects.filter(farm=farm, sha256__in=set(shas)).defer("raw")
    return {record.sha256: record for record in found}


def still_aside(farm: Farm, shas: Iterable[str]) -> set[str]:
    """Which of these entries are set aside now."""
    found = HeldEntry.objects.filter(farm=farm, uid__in=set(shas))
    return set(found.values_list("uid", flat=True))


def body_of(record: Record) -> dict[str, Any] | None:
    """The record's body as JSON can carry it; None when it is no envelope."""
    entry = entry_of(record)
    return None if not entry.kind else _finite(clean(entry.body))


def _finite(value: Any) -> Any:
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if isinstance(value, dict):
        return {key: _finite(part) for key, part in value.items()}
    if isinstance(value, list):
        return [_finite(part) for part in value]
    return value
