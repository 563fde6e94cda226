"""Entries that a phone has written and never delivered, told by the holes in its own numbers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import Count, F, Max, Window
from django.db.models.functions import Lag

from tubertrack.apps.accounts.deliveries import Delivered
from tubertrack.apps.accounts.models import Farm
from tubertrack.apps.records.models import Record

PATIENCE_MS = 7 * 86_400_000
MOST_SHOWN = 50


@dataclass(frozen=True, slots=True)
class Undelivered:
    """Numbers of a device that are missing though later ones came over a week ago."""

    device: str
    missing: list[int]
    """The first 50."""

    count: int


def undelivered(farm: Farm, *, now: int) -> list[Undelivered]:
    """What each device of the farm has not delivered, worked out when it is asked for."""
    old = Record.objects.filter(farm=farm, received_at__lte=now - PATIENCE_MS, device_seq__gt=0)
    highest = old.order_by().values("device").annotate(last=Max("device_seq"))
    found = []
    for row in sorted(highest, key=lambda row: str(row["device"])):
        known = Record.objects.filter(farm=farm, device=row["device"], device_seq__gt=0)
        known = known.filter(device_seq__lte=row["last"])
        count = row["last"] - known.aggregate(n=Count("device_seq", distinct=True))["n"]
        if count:
            missing = _holes(known, row["last"])
            found.append(Undelivered(str(row["device"]), missing, count))
    return found


def _holes(known: Any, last: int) -> list[int]:
    holes: list[int] = []
    expected = 1
    numbers = known.order_by("device_seq").values_list("device_seq", flat=True).distinct()
    for number in numbers.iterator(chunk_size=2000):
        room = MOST_SHOWN - len(holes)
        holes += range(expected, min(number, expected + room))
        if len(holes) == MOST_SHOWN or number >= last:
            break
        expected = number + 1
    return holes


def delivered(farm: Farm, device: str | None = None) -> dict[str, Delivered]:
    """What the log holds of each device of the farm, or of one, by its id; holes of any age."""
    records = Record.objects.filter(farm=farm, device__isnull=False, device_seq__gt=0)
    if device is not None:
        records = records.filter(device=device)
    counted = records.order_by().values("device")
    rows = counted.annotate(
        n=Count("pk"), kinds=Count("device_seq", distinct=True), last=Max("device_seq")
    )
    return {
        str(row["device"]): Delivered(
            records=row["n"],
            highest_seq=row["last"],
            missing=() if row["kinds"] == row["last"] else _runs(records, row["device"]),
        )
        for row in rows
    }


def _runs(records: Any, device: Any) -> tuple[tuple[int, int], ...]:
    """(first, last) of the numbers that are missing below the highest, found by the database."""
    mine = records.filter(device=device)
    before = mine.annotate(before=Window(Lag("device_seq", default=0), order_by="device_seq"))
    holes = before.filter(device_seq__gt=F("before") + 1).order_by("device_seq")
    found = holes.values_list("before", "device_seq")[:MOST_SHOWN]
    return tuple((low + 1, high - 1) for low, high in found)
