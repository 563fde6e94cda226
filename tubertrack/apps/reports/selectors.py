"""Reads the tables of a farm as the plain lines that a loss report is worked out from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, cast
from zoneinfo import ZoneInfo

from tubertrack.apps.accounts.models import Farm
from tubertrack.apps.records.models import (
    Check,
    CheckLine,
    Crate,
    Lot,
    Method,
    Place,
    Posting,
    Setting,
    Stay,
    Variety,
)
from tubertrack.core.losses.filling_lines import Dimension, FillingLine, Named
from tubertrack.core.losses.from_stock import (
    LookRow,
    LotRow,
    PostingRow,
    StayRow,
    filling_lines,
)
from tubertrack.core.losses.wording import NOT_WRITTEN
from tubertrack.core.season import Season, season_for, winter_of

MOISTURE = {"dry": "dry", "barely_damp": "barely damp", "damp": "damp", "wet": "wet"}
_STAY = "lot number crate place method moisture from_on to_on packed_on first_crate entered ended"
_POSTING = "record lot unit account amount stage cause how on"


def today_of(farm: Farm, now: datetime) -> date:
    """The farm's day: the stored one of a farm that stands still, else the day in its zone."""
    if farm.as_of:
        return date.fromisoformat(farm.as_of)
    return now.astimezone(ZoneInfo(farm.time_zone)).date()


def season_of(farm: Farm) -> Season:
    """First and last month of the farm's winters, as set, or as usual in its half of the world."""
    told = dict(Setting.objects.filter(farm=farm).values_list("uid", "value"))
    return season_for(
        str(told.get("hemisphere") or "north"),
        _month(told.get("winter_start_month")),
        _month(told.get("winter_end_month")),
    )


def _month(value: Any) -> int | None:
    return value if type(value) is int and 1 <= value <= 12 else None


def _winter(day: str, season: Season) -> str:
    return winter_of(date.fromisoformat(day), season.start_month, season.end_month)


def winters_of(farm: Farm, season: Season) -> list[str]:
    """Winters in which anything was packed, the newest first."""
    days = Stay.objects.filter(farm=farm).exclude(packed_on="").values_list("packed_on", flat=True)
    found = {_winter(day, season) for day in days.distinct()}
    return sorted(found, reverse=True)


def winter_now(farm: Farm, season: Season, today: date) -> str:
    """The newest winter with anything packed, else the one of today."""
    known = winters_of(farm, season)
    return known[0] if known else winter_of(today, season.start_month, season.end_month)


def lines_of_winter(farm: Farm, winter: str, season: Season, as_of: date) -> list[FillingLine]:
    """The filling lines packed in that winter. A constant number of queries."""
    days = Stay.objects.filter(farm=farm).values_list("packed_on", flat=True).distinct()
    of_winter = [day for day in days if day and _winter(day, season) == winter]
    if not of_winter:
        return []
    within = Stay.objects.filter(
        farm=farm, packed_on__gte=min(of_winter), packed_on__lte=max(of_winter)
    )
    lots = within.values("lot")
    stays = Stay.objects.filter(farm=farm, lot__in=lots)
    known = Lot.objects.filter(farm=farm, uid__in=lots, quarantined=False)
    names = _Names.of(farm)
    lines = filling_lines(
        cast("list[LotRow]", list(known.values("uid", "variety", "unit", "about").order_by("uid"))),
        cast("list[StayRow]", list(stays.values(*_STAY.split()))),
        cast(
            "list[PostingRow]",
            list(
                Posting.objects.filter(farm=farm, lot__in=lots)
                .order_by("on", "uid")
                .values(*_POSTING.split())
            ),
        ),
        _looks(farm, lots),
        crate=names.crate,
        naming=names.of_stay,
        as_of=as_of,
    )
    return [line for line in lines if _winter(line.packed_on.isoformat(), season) == winter]


def _looks(farm: Farm, lots: Any) -> list[LookRow]:
    lines = list(CheckLine.objects.filter(farm=farm, lot__in=lots))
    days = dict(Check.objects.filter(farm=farm).values_list("uid", "on"))
    return [
        LookRow(
            record=line.check_uid,
            lot=line.lot,
            on=days[line.check_uid],
            seen=line.seen,
            all=line.all,
            removed=sum(line.removed.values()),
        )
        for line in lines
        if line.check_uid in days
    ]


Rows = Mapping[str, Mapping[str, Any]]


@dataclass(frozen=True)
class _Names:
    """What the farm calls its things; rows that are the same thing go by one id and one name."""

    crates: Rows
    varieties: Rows
    methods: Rows
    places: Rows

    @classmethod
    def of(cls, farm: Farm) -> _Names:
        def rows(model: Any, *fields: str) -> Rows:
            found = model.objects.filter(farm=farm).values("uid", "name", *fields)
            return {row["uid"]: row for row in found}

        return cls(
            rows(Crate, "number", "code"),
            rows(Variety, "same_as"),
            rows(Method, "same_as", "packing"),
            rows(Place, "same_as"),
        )

    def crate(self, uid: str) -> Named:
        row = self.crates.get(uid, {})
        label = row.get("number") or row.get("name") or _grouped(row.get("code", ""))
        return Named(uid, label or "without a number")

    def of_stay(self, stay: StayRow, lot: LotRow) -> Mapping[Dimension, Named]:
        method = _same(self.methods, stay["method"])
        packing = self.methods.get(method, {}).get("packing") or ""
        moisture = stay["moisture"]
        return {
            Dimension.METHOD: _named(self.methods, method, "method"),
            Dimension.VARIETY: _named(
                self.varieties, _same(self.varieties, lot["variety"]), "variety"
            ),
            Dimension.PLACE: _named(self.places, _same(self.places, stay["place"]), "place"),
            Dimension.PACKING: Named(packing, packing or NOT_WRITTEN["packing"]),
            Dimension.MOISTURE: Named(
                moisture, MOISTURE.get(moisture, moisture) or NOT_WRITTEN["moisture"]
            ),
        }


def _grouped(code: str) -> str:
    """4K7QM2X1 as it is printed: 4K7Q-M2X1."""
    return f"{code[:4]}-{code[4:]}" if code else ""


def _same(rows: Rows, uid: str) -> str:
    """The row that this one was said to be the same as, followed to its end."""
    seen = set()
    while uid not in seen and (into := rows.get(uid, {}).get("same_as")):
        seen.add(uid)
        uid = into
    return uid


def _named(rows: Rows, uid: str, table: str) -> Named:
    if not uid or uid == "unknown":
        return Named("", NOT_WRITTEN[table])
    return Named(uid, rows.get(uid, {}).get("name") or f"{table} without a name")


def paper_of(farm: Farm) -> str:
    """What the farm prints on: A4 where it speaks British English, else US Letter."""
    words = Setting.objects.filter(farm=farm, uid="locale_words").values_list("value", flat=True)
    return "A4" if words.first() == "uk" else "letter"
