"""An entry is one record as it stands in a farm's feed, with what the server added to it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

UNSETTLED = 1 << 53
"""Stands for the number of an entry that the feed does not hold yet: after all others."""

Body = dict[str, Any]
OrderKey = tuple[str, int, int, int, int, str]


@dataclass(frozen=True, slots=True)
class Entry:
    """One record and the server's additions.

    `seq` is None while the record is only on a phone. `received_on` and `recorded_on` are civil
    dates of the farm, worked out once by the server. `held` is "" or the code of why the record
    was set aside. `role` is the role the record counts with. Unreadable records have kind "".
    """

    sha256: str
    seq: int | None
    id: str
    device: str
    device_seq: int
    author: str
    kind: str
    v: int
    occurred_on: str
    recorded_at: int
    body: Body = field(hash=False)
    held: str
    received_at: int
    received_on: str
    recorded_on: str
    stamp: tuple[int, int] | None
    role: str

    @property
    def place_in_feed(self) -> int:
        return UNSETTLED if self.seq is None else self.seq


@dataclass(frozen=True, slots=True)
class Act:
    """An entry as it counts now: alive, with its corrections, and with its place in the order."""

    sha256: str
    kind: str
    body: Body = field(hash=False)
    on: str
    key: OrderKey
    clamped: bool
    author: str
    device: str
    seq: int
    role: str
    stamp: tuple[int, int]


def order_key(
    entry: Entry, *, kind: str, rank: int, occurred_on: str, no_later_than: str
) -> tuple[str, OrderKey]:
    """The date on which an entry takes effect, and its place in the order of the farm's history.

    The date never lies after the farm's date of receipt. Within a date, the claimed time decides
    when it belongs to that date (otherwise the entry was written later and comes first), so two
    acts of one phone on one day keep their order; then the kind; then the feed.
    """
    on = min(occurred_on, no_later_than)
    claimed = min(entry.recorded_at, entry.received_at) if entry.recorded_on == on else 0
    return on, (on, claimed, rank, entry.place_in_feed, entry.device_seq, entry.sha256)
