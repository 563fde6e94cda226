"""A winter on the real database, small enough to work out every number by hand.

Ana's farm, as of 20 January 2027, everything packed on 3 November 2026:

crate 1: 20 Bell, shavings, cellar. 1 Dec gone through: 2 rotten. 20 Dec recount 17: 1 missing.
crate 2: 20 Bell, wrap, cellar.     1 Dec gone through: all good. 10 Dec 5 sold.
crate 3: 30 Tallow, shavings, garage. 2 Dec gone through: 6 dried up, 3 frozen.
crate 4: about 10 Tallow, wrap, garage. Never looked at.
crate 5: 6 clumps of Bell, shavings, cellar. Never looked at.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

from tests.farms import Phone, TwoFarms, crate_id, lot_id, place_id
from tubertrack.apps.accounts.models import Farm

AS_OF = "2027-01-20"
LATE = int(dt.datetime(2027, 1, 20, 18, tzinfo=dt.UTC).timestamp() * 1000)
BELL, TALLOW, SHAVINGS, WRAP = (f"00000000-0000-4000-8000-0000000d{n:04d}" for n in range(1, 5))
CELLAR, GARAGE = place_id(1), place_id(2)


def name(table: str, row: str, value: Any, field: str = "name") -> tuple[str, dict[str, Any], str]:
    body = {"table": table, "row": row, "field": field, "value": value}
    return "field_set", body, "2026-10-01"


def packed(
    n: int, count: int, variety: str, method: str, place: str, **line: Any
) -> tuple[str, dict[str, Any], str]:
    lot = {"lot": lot_id(n), "count": count, "variety": variety, "unit": "tuber"} | line
    body = {"crate": crate_id(n), "lots": [lot], "method": method, "place": place}
    return "packed", body, "2026-11-03"


def gone_through(n: int, seen: int, on: str, **removed: int) -> tuple[str, dict[str, Any], str]:
    line = {"lot": lot_id(n), "seen": seen, "all": True, "removed": removed}
    return "checked", {"crate": crate_id(n), "look": "all", "lines": [line]}, on


def names(farm: Farm) -> list[tuple[str, dict[str, Any], str]]:
    return [
        name("settings", str(farm.pk), AS_OF, "as_of"),
        name("varieties", BELL, "Brackwater Bell"),
        name("varieties", TALLOW, "Tarrowby Tallow"),
        name("methods", SHAVINGS, "Shavings"),
        name("methods", SHAVINGS, "wood shavings", "packing"),
        name("methods", WRAP, "Wrap"),
        name("places", CELLAR, "Stone cellar"),
        name("places", GARAGE, "Garage"),
        *(name("crates", crate_id(n), str(n), "number") for n in range(1, 6)),
    ]


def acts() -> list[tuple[str, dict[str, Any], str]]:
    return [
        packed(1, 20, BELL, SHAVINGS, CELLAR),
        packed(2, 20, BELL, WRAP, CELLAR),
        packed(3, 30, TALLOW, SHAVINGS, GARAGE),
        packed(4, 10, TALLOW, WRAP, GARAGE, about=True),
        packed(5, 6, BELL, SHAVINGS, CELLAR, unit="clump"),
        gone_through(1, 20, "2026-12-01", rot=2),
        gone_through(2, 20, "2026-12-01"),
        gone_through(3, 30, "2026-12-02", dried_up=6, frozen=3),
        ("gone_out", {"lot": lot_id(2), "count": 5, "how": "sold"}, "2026-12-10"),
        ("counted", {"lot": lot_id(1), "count": 17}, "2026-12-20"),
    ]


def write(phone: Phone, *told: tuple[str, dict[str, Any], str]) -> list[str]:
    """Writes acts through the ordinary write path; their hashes."""
    raws = [
        phone.raw(kind, body, occurred_on=on, recorded_at=LATE - 60_000 + n)
        for n, (kind, body, on) in enumerate(told)
    ]
    verdicts = phone.append(*raws, now=LATE)
    assert {"stored"} == {verdict.verdict for verdict in verdicts}
    return [verdict.sha256 for verdict in verdicts]


def a_winter(farms: TwoFarms) -> list[str]:
    """The winter described above, and next door Cleo's, with the same crates and lots."""
    write(farms.cleo, *names(farms.other), packed(1, 99, BELL, SHAVINGS, CELLAR))
    hashes = write(farms.owner, *names(farms.farm), *acts())
    farms.farm.refresh_from_db()
    return hashes
