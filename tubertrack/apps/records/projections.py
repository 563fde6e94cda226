"""Writes what a fold knows into the tables that one may ask.

Rows are pure functions of pages of the folded state, so that writing what changed and writing
everything anew give the same rows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from tubertrack.apps.accounts.models import Farm
from tubertrack.apps.records import models
from tubertrack.core.season import LookRule, due_on
from tubertrack.core.stock.entries import Entry
from tubertrack.core.stock.fold import Changed, Fold
from tubertrack.core.stock.lineage import same_row
from tubertrack.core.stock.living import MENDING
from tubertrack.core.sync.envelope import is_day

Row = dict[str, Any]
Page = dict[str, Any]
AT_ONCE = 500


# what a database can hold


def clean(value: Any) -> Any:
    """The value with texts that every database takes: U+FFFD for NUL and lone surrogates."""
    if isinstance(value, str):
        if value.isprintable():
            return value
        return "".join("\ufffd" if c == "\0" or "\ud800" <= c <= "\udfff" else c for c in value)
    if isinstance(value, dict):
        return {clean(key): clean(part) for key, part in value.items()}
    if isinstance(value, list):
        return [clean(part) for part in value]
    return value


def _words(value: Any) -> str:
    return "" if value is None or isinstance(value, bool) else str(value)


def _whole(value: Any) -> int | None:
    return value if type(value) is int else None


class FarmFold(Fold):
    """A fold that knows whose it is."""

    def __init__(self, farm_id: Any) -> None:
        super().__init__()
        self.farm_id = str(farm_id)


def _picked(page: Page, names: str) -> Row:
    return {name: page[name] for name in names.split()}


# reference rows


def _values(fold: FarmFold, table: str, row: str) -> dict[str, Any]:
    fields = fold.rows.get(table, {}).get(row, {})
    return {name: found["value"] for name, found in fields.items()}


def _reference_rows(
    table: str, words: str, numbers: str = "", flags: str = ""
) -> Callable[[FarmFold, str], Iterator[Row]]:
    def rows(fold: FarmFold, key: str) -> Iterator[Row]:
        if key not in fold.rows.get(table, {}):
            return
        values = _values(fold, table, key)
        yield {
            "uid": key,
            "same_as": fold.same.get(table, {}).get(key, ""),
            **{name: _words(values.get(name)) for name in f"name {words}".split()},
            **{name: _whole(values.get(name)) for name in numbers.split()},
            **{name: values.get(name) is True for name in f"archived {flags}".split()},
        }

    return rows


def _setting_rows(fold: FarmFold, name: str) -> Iterator[Row]:
    values = settings_of(fold)
    if name in values:
        yield {"uid": name, "value": values[name]}


def settings_of(fold: FarmFold) -> dict[str, Any]:
    """The farm's settings by name: those of its own row, as on phones. Other rows set nothing."""
    return _values(fold, "settings", fold.farm_id)


# stock


def _crate_rows(fold: FarmFold, key: str) -> Iterator[Row]:
    page, values = fold.tables["crates"].get(key), _values(fold, "crates", key)
    if page is None and not values:
        return
    yield {
        "uid": key,
        "number": _words(values.get("number")),
        "name": _words(values.get("name")),
        "archived": values.get("archived") is True,
        **(page or {}),
        "due_on": _due_on(fold, key, page) if page else "",
    }


def _due_on(fold: FarmFold, crate: str, page: Page) -> str:
    """When the crate should be looked at again; "" while nothing lies in it."""
    if not any(fold.tables["lots"][lot]["balance"] > 0 for lot in page["lots"]):
        return ""
    begun = page["packed_on"] or min(
        (
            stay["from"]
            for lot in page["lots"]
            for stay in fold.tables["lots"][lot]["stays"]
            if stay["crate"] == crate and not stay["to"]
        ),
        default=page["since"],
    )
    if not is_day(begun):
        return ""
    looked_on = page["looked_on"]
    try:
        return due_on(
            date.fromisoformat(begun),
            date.fromisoformat(looked_on) if is_day(looked_on) else None,
            _look_rule(fold, page["place"]),
            look_again_on=_day_or_none(page["look_again_on"]),
        ).isoformat()
    except OverflowError:
        return ""


def _day_or_none(text: str) -> date | None:
    return date.fromisoformat(text) if is_day(text) else None


def _look_rule(fold: FarmFold, place: str) -> LookRule:
    told, usual = settings_of(fold), LookRule()
    return LookRule(
        first_days=_days(told.get("first_check_days")) or usual.first_days,
        first_weeks=_days(told.get("first_weeks")) or usual.first_weeks,
        later_days=_days(told.get("later_check_days")) or usual.later_days,
        place_days=_days(
            _values(fold, "places", same_row(fold.same, "places", place)).get("check_days")
        ),
    )


def _days(value: Any) -> int | None:
    return value if type(value) is int and 1 <= value <= 3650 else None


def _lot_rows(fold: FarmFold, key: str) -> Iterator[Row]:
    page = fold.tables["lots"].get(key)
    if page is not None:
        told = {name: value for name, value in page.items() if name != "stays"}
        flags = {name: bool(told[name]) for name in ("about", "quarantined")}
        yield {"uid": key, **told, **flags}


def _stay_rows(fold: FarmFold, lot: str) -> Iterator[Row]:
    page = fold.tables["lots"].get(lot)
    for number, stay in enumerate(page["stays"] if page else ()):
        told = {name: value for name, value in stay.items() if name not in ("from", "to")}
        ends = {"from_on": stay["from"], "to_on": stay["to"]}
        yield {"uid": f"{lot}:{number}", "lot": lot, "number": number, **told, **ends}


def _check_rows(fold: FarmFold, key: str) -> Iterator[Row]:
    page = fold.tables["checks"].get(key)
    if page is not None:
        yield {"uid": key, **{name: value for name, value in page.items() if name != "lines"}}


def _line_rows(fold: FarmFold, check: str) -> Iterator[Row]:
    page = fold.tables["checks"].get(check)
    for number, line in enumerate(page["lines"] if page else ()):
        told = {**line, "all": bool(line["all"])}
        yield {"uid": f"{check}:{number}", "check_uid": check, "number": number, **told}


def _planting_rows(fold: FarmFold, key: str) -> Iterator[Row]:
    page = fold.tables["plantings"].get(key)
    if page is not None:
        told = {name: value for name, value in page.items() if name != "from"}
        yield {"uid": key, "sources": page["from"], **told}


def _problem_rows(fold: FarmFold, key: str) -> Iterator[Row]:
    page = fold.problem(key)
    if page is not None:
        yield {"uid": key, **_picked(page, "code records voidable facts outs accepted")}


def _as_it_stands(table: str) -> Callable[[FarmFold, str], Iterator[Row]]:
    def rows(fold: FarmFold, key: str) -> Iterator[Row]:
        page = fold.tables[table].get(key)
        if page is not None:
            yield {"uid": key, **page}

    return rows


def _held_rows(fold: FarmFold, sha: str) -> Iterator[Row]:
    entry = fold.living.entries.get(sha)
    if entry is not None and entry.held and sha not in fold.acts:
        yield {"uid": sha, "code": entry.held}


# tables


@dataclass(frozen=True, slots=True)
class Table:
    """A projected table: which table of the state it follows, and the rows of one key there.

    `owner` names the column with that key where one key has several rows.
    """

    model: type[models.Projected]
    follows: str
    rows: Callable[[FarmFold, str], Iterator[Row]]
    owner: str = "uid"

    @property
    def columns(self) -> list[str]:
        fields = self.model._meta.concrete_fields
        return [field.attname for field in fields if field.attname not in ("id", "farm_id", "uid")]

    def blank(self) -> Row:
        """A row of which nothing is known."""
        fresh = self.model()
        return {name: getattr(fresh, name) for name in self.columns}


TABLES = (
    Table(models.Setting, "settings", _setting_rows),
    Table(
        models.Variety,
        "varieties",
        _reference_rows("varieties", "form size colour", flags="may_not_sell"),
    ),
    Table(models.Place, "places", _reference_rows("places", "sort", "check_days")),
    Table(
        models.Method,
        "methods",
        _reference_rows(
            "methods", "packing container treatment", "minutes_per_100 cost_cents_per_100"
        ),
    ),
    Table(models.Crate, "crates", _crate_rows),
    Table(models.Lot, "lots", _lot_rows),
    Table(models.Stay, "lots", _stay_rows, owner="lot"),
    Table(models.Posting, "postings", _as_it_stands("postings")),
    Table(models.Check, "checks", _check_rows),
    Table(models.CheckLine, "checks", _line_rows, owner="check_uid"),
    Table(models.Reading, "readings", _as_it_stands("readings")),
    Table(models.Planting, "plantings", _planting_rows),
    Table(models.Problem, "problems", _problem_rows),
    Table(models.HeldEntry, "held", _held_rows),
)


def keys_of(fold: FarmFold, follows: str) -> set[str]:
    """Every key that a table of the state has now."""
    if follows == "settings":
        return set(settings_of(fold))
    if follows == "held":
        return {sha for sha, entry in fold.living.entries.items() if entry.held}
    found = set(fold.rows.get(follows, {}))
    return found | set(fold.tables.get(follows, ()))


def touched_keys(fold: FarmFold, changed: Changed) -> dict[str, set[str]]:
    """Keys whose rows may differ after `changed`, with those that hang on other tables."""
    keys = {table: set(found) for table, found in changed.keys.items() if found}
    if keys.get("settings") or keys.get("places"):
        keys["crates"] = keys_of(fold, "crates")
    elif keys.get("lots"):
        lots = fold.tables["lots"]
        crates = {lots[lot]["container"] for lot in keys["lots"] if lot in lots}
        keys["crates"] = keys.get("crates", set()) | (crates - {""})
    return keys


def write_changed(farm: Farm, fold: FarmFold, changed: Changed, entries: Iterable[Entry]) -> None:
    """Brings the rows of the changed keys up to date after `entries` were taken in."""
    keys = touched_keys(fold, changed)
    if any(entry.held or entry.kind in MENDING for entry in entries):
        keys["held"] = keys_of(fold, "held")
    if "settings" in keys:  # a setting that was voided has no value any more, but a row
        stored = models.Setting.objects.filter(farm=farm).values_list("uid", flat=True)
        keys["settings"] = set(settings_of(fold)).union(stored)
    for table in TABLES:
        for portion in _portions(sorted(keys.get(table.follows, ()))):
            _write(farm, fold, table, portion)
    if "settings" in keys:
        _follow_settings(farm, fold)


def _follow_settings(farm: Farm, fold: FarmFold) -> None:
    as_of = settings_of(fold).get("as_of")
    farm.as_of = as_of if is_day(as_of) else ""
    farm.save(update_fields=["as_of"])


def _write(farm: Farm, fold: FarmFold, table: Table, keys: list[str]) -> None:
    rows = [clean(row) for key in keys for row in table.rows(fold, key)]
    owned = {f"{table.owner}__in": [clean(key) for key in keys]}
    mine = table.model.objects.filter(farm=farm, **owned)
    mine.exclude(uid__in=[row["uid"] for row in rows]).delete()
    table.model.objects.bulk_create(
        [table.model(farm=farm, **row) for row in rows],
        update_conflicts=True,
        unique_fields=["farm", "uid"],
        update_fields=table.columns,
    )


def rewrite(farm: Farm, fold: FarmFold) -> list[str]:
    """Every row of the farm anew; returns the names of the tables in which a row differed."""
    differing = []
    for table in TABLES:
        rows = folded_rows(fold, table)
        if rows != stored_rows(farm, table):
            differing.append(table.model.__name__)
        table.model.objects.filter(farm=farm).delete()
        table.model.objects.bulk_create(
            [table.model(farm=farm, **row) for row in rows.values()], batch_size=AT_ONCE
        )
    _follow_settings(farm, fold)
    return differing


def folded_rows(fold: FarmFold, table: Table) -> dict[str, Row]:
    """The rows that one table should have, whole, by uid."""
    keys = sorted(keys_of(fold, table.follows))
    found = (clean(row) for key in keys for row in table.rows(fold, key))
    return {row["uid"]: {**table.blank(), **row} for row in found}


def stored_rows(farm: Farm, table: Table) -> dict[str, Row]:
    """The rows of one table as they are stored, by uid."""
    found = table.model.objects.filter(farm=farm).values("uid", *table.columns)
    return {row["uid"]: row for row in found}


def _portions(keys: list[str]) -> Iterable[list[str]]:
    for start in range(0, len(keys), AT_ONCE):
        yield keys[start : start + AT_ONCE]
