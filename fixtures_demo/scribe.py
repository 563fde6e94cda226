"""Writes the demo farm's records as its people's phones would have: with authors, devices, times."""

from __future__ import annotations

import json
import random
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

ZONE = ZoneInfo("Europe/London")
HOUR_MS = 3_600_000


@dataclass(frozen=True)
class Person:
    """Somebody on the farm, with the phone she carries."""

    name: str
    role: str
    member: str
    device: str
    phone: str


@dataclass(frozen=True)
class Written:
    """One record as bytes, the device that pushes it, and when the server gets it (ms UTC)."""

    raw: bytes
    device: str
    received_at: int


@dataclass
class Scribe:
    """Keeps each phone's count of records and the time of day. `shift` moves every date."""

    rnd: random.Random
    farm: str
    shift: timedelta = timedelta(0)
    done: list[Written] = field(default_factory=list)
    _seq: dict[str, int] = field(default_factory=dict)
    _minute: dict[tuple[str, date], float] = field(default_factory=dict)

    def id(self) -> str:
        """A new UUID from the seeded source."""
        return str(uuid.UUID(int=self.rnd.getrandbits(128), version=4))

    def write(
        self,
        by: Person,
        on: date,
        kind: str,
        body: dict[str, Any],
        *,
        sent_after_h: float = 0.2,
    ) -> str:
        """Writes one record on a working day; returns its id. Sent `sent_after_h` hours later."""
        recorded_at = self.moment(by, on)
        self._seq[by.device] = self._seq.get(by.device, 0) + 1
        envelope = {
            "id": self._id7(recorded_at),
            "farm": self.farm,
            "device": by.device,
            "device_seq": self._seq[by.device],
            "author": by.member,
            "kind": kind,
            "v": 1,
            "occurred_on": self.day(on),
            "recorded_at": recorded_at,
        }
        if kind == "field_set":
            envelope["stamp"] = [recorded_at, 0]
        raw = json.dumps({**envelope, "body": body}, separators=(",", ":"), ensure_ascii=False)
        received_at = recorded_at + round(sent_after_h * HOUR_MS)
        self.done.append(Written(raw.encode(), by.device, received_at))
        return str(envelope["id"])

    def day(self, on: date) -> str:
        """A date of the story as it is written."""
        return (on + self.shift).isoformat()

    def moment(self, by: Person, on: date) -> int:
        """The next moment of this person's working day, ms UTC."""
        minute = self._minute.get((by.device, on), 8 * 60.0) + self.rnd.uniform(0.4, 2.5)
        self._minute[by.device, on] = minute
        start = datetime.combine(on + self.shift, time(0), ZONE).astimezone(UTC)
        return round((start + timedelta(minutes=minute)).timestamp() * 1000)

    def _id7(self, ms: int) -> str:
        """UUID version 7 of this millisecond (RFC 9562)."""
        tail = self.rnd.getrandbits(76)
        bits = ms << 80 | 7 << 76 | (tail >> 62 & 0xFFF) << 64 | 2 << 62 | tail & (1 << 62) - 1
        return str(uuid.UUID(int=bits))

    def pushes(self) -> Iterator[tuple[str, int, list[bytes]]]:
        """(device, received_at, records) in the order in which the server got them."""
        todo = sorted(self.done, key=lambda one: one.received_at)
        for (device, _), group in groupby(todo, key=lambda one: (one.device, _hour(one))):
            batch = list(group)
            yield device, batch[-1].received_at, [one.raw for one in batch]


def _hour(one: Written) -> int:
    return one.received_at // (6 * HOUR_MS)
