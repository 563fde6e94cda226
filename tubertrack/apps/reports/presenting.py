"""A loss report as plain JSON values: the same figures for screen, CSV and PDF.

Shares are rounded to four decimals here and nowhere else, so that the three agree.
"""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from typing import Any

from tubertrack.core.losses import wording
from tubertrack.core.losses.crate_wilson import FEW, Interval
from tubertrack.core.losses.filling_lines import Named
from tubertrack.core.losses.groups import Figure, Row, Seen
from tubertrack.core.losses.opening import Sentence, WorstCrate
from tubertrack.core.losses.report import LossReport, Table

Json = dict[str, Any]


def report_json(report: LossReport) -> Json:
    """The report as JSON values. Dates are YYYY-MM-DD or null, shares 0..1 with four decimals."""
    return {
        "winter": report.winter,
        "by": report.by.value,
        "as_of": report.as_of.isoformat(),
        "under_way": report.is_under_way,
        "opening": [_sentence(one) for one in report.opening],
        "worst": [_worst(one) for one in report.worst],
        "methods": [_sentence(one) for one in report.methods],
        "verdict": [_sentence(one) for one in report.verdict],
        "tables": [_table(table) for table in report.tables],
        "crates": _crate_names(report),
    }


def _crate_names(report: LossReport) -> dict[str, str]:
    rows = [table.everything for table in report.tables]
    return {crate.id: crate.label for row in rows for crate in row.crates}


def _sentence(one: Sentence) -> Json:
    return asdict(one)


def _worst(one: WorstCrate) -> Json:
    return {
        "crate": asdict(one.crate),
        "unit": one.unit,
        "lost": one.lost,
        "held": one.held,
        "causes": [
            {"cause": code, "words": wording.cause(code), "count": n} for code, n in one.causes
        ],
        "varieties": list(one.varieties),
        "text": one.text,
        "records": list(one.records),
    }


def _table(table: Table) -> Json:
    return {
        "unit": table.unit,
        "unit_words": wording.UNITS.get(table.unit, (table.unit, table.unit))[1],
        "everything": row_json(table.everything),
        "rows": [row_json(row) for row in table.rows],
    }


def row_json(row: Row) -> Json:
    """One row; each figure with its crates and entries."""
    return {
        "key": _named(row.key),
        "unit": row.unit,
        "packed": _figure(row.packed),
        "found": _figure(row.found),
        "moved_in": row.moved_in,
        "thrown": [
            {"cause": code, "words": wording.cause(code), **_figure(figure)}
            for code, figure in row.thrown.items()
        ],
        "thrown_out": row.lost,
        "gone_out": [
            {"how": how, "words": wording.way_out(how), **_figure(figure)}
            for how, figure in row.gone_out.items()
        ],
        "went_out": row.went_out,
        "missing": _figure(row.missing),
        "moved_out": row.moved_out,
        "brought_out": _figure(row.brought_out),
        "in_store": _figure(row.in_store),
        "cut_away": _figure(row.cut_away),
        "about": row.about,
        "seen": _seen(row.seen),
        "came_through": _interval(row.came_through),
        "without_accidents": _interval(row.without_accidents),
        "by_the_book": share(row.by_the_book),
        "worst_case": share(row.worst_case),
        "outside": row.outside,
        "guess": wording.guess(row.came_through, row.unit, row.in_store.count, row.about),
        "range_text": wording.limits_in_words(row.came_through) if row.came_through else "",
        "outside_text": " ".join(_cautions(row)),
        "crates": [crate.id for crate in row.crates],
        "checks": list(row.checks),
    }


def _cautions(row: Row) -> list[str]:
    said = (wording.outside(row.outside, row.unit), wording.overdrawn(row.overdrawn, row.unit))
    return [text for text in said if text]


def _named(named: Named) -> Json:
    return {"id": named.id, "label": named.label}


def _figure(figure: Figure) -> Json:
    return {
        "count": figure.count,
        "crates": list(figure.crates),
        "records": list(figure.records),
    }


def _seen(seen: Seen) -> Json:
    return {
        "seen": seen.seen,
        "seen_from": _day(seen.seen_from),
        "seen_to": _day(seen.seen_to),
        "not_seen": seen.not_seen,
        "not_seen_since": _day(seen.not_seen_since),
    }


def _day(day: date | None) -> str | None:
    return day.isoformat() if day else None


def _interval(found: Interval | None) -> Json | None:
    if found is None:
        return None
    through = date.fromordinal(found.through_day) if found.through_day else None
    return {
        "share": share(found.share),
        "low": share(found.low),
        "high": share(found.high),
        "method": found.method,
        "crates": found.crates,
        "tubers": found.tubers,
        "few": FEW in found.notes,
        "notes": list(found.notes),
        "through_on": _day(through),
    }


def share(value: float | None) -> float | None:
    """A share as it is shown everywhere: four decimals."""
    return None if value is None else round(value, 4)
