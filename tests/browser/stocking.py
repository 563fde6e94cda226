"""Crates in a store, written down through the ordinary way in, for journeys that begin later."""

from __future__ import annotations

import time
import uuid
from datetime import UTC, date, datetime, timedelta
from typing import Any

from tests import farms

VARIETY = "Pim Haddersley"
CELLAR = "Stone cellar"


def today() -> date:
    return datetime.now(UTC).date()


def ago(days: int) -> str:
    return (today() - timedelta(days=days)).isoformat()


class Store:
    """The owner's own phone writes crates down, 20 days ago unless said otherwise."""

    def __init__(self, farm: Any) -> None:
        self.phone = farms.phone_of(farm.members.get(role="owner"))
        self.rows: dict[tuple[str, str], str] = {}

    @staticmethod
    def now() -> int:
        """UTC in ms."""
        return int(time.time() * 1000)

    def write(self, kind: str, body: dict[str, Any], *, on: str = "") -> None:
        now = self.now()
        raw = self.phone.raw(kind, body, occurred_on=on or ago(20), recorded_at=now)
        [verdict] = self.phone.append(raw, now=now)
        assert "stored" == verdict.verdict, verdict

    def row(self, table: str, name: str, field: str = "name") -> str:
        """The id of a row with this name, made when there is none."""
        if (table, name) not in self.rows:
            self.rows[table, name] = str(uuid.uuid4())
            told = {"table": table, "row": self.rows[table, name], "field": field, "value": name}
            now = self.now()
            raw = self.phone.raw(
                "field_set", told, recorded_at=now, stamp=[now, len(self.rows)], occurred_on=ago(20)
            )
            [verdict] = self.phone.append(raw, now=now)
            assert "stored" == verdict.verdict, verdict
        return self.rows[table, name]

    def crate(
        self, number: str, count: int, *varieties: str, place: str = CELLAR, code: str = ""
    ) -> str:
        """A packed crate; with several varieties each has `count`. Its id."""
        crate = self.row("crates", number, "number")
        lots = [
            {
                "lot": str(uuid.uuid4()),
                "count": count,
                "unit": "tuber",
                "eyes": "showing",
                "variety": self.row("varieties", variety),
            }
            for variety in varieties or (VARIETY,)
        ]
        body = {"crate": crate, "from": [], "lots": lots, "method": self.row("methods", "Shavings")}
        self.write("packed", {**body, "place": self.row("places", place)})
        if code:
            self.write("labelled", {"code": code, "target": "crate", "id": crate})
        return crate
