"""Entries that a phone has written and never delivered, told by the holes in its own numbers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Max

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
