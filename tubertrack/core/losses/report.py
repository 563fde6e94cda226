"""The loss report of one winter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from tubertrack.core.losses import opening, verdict
from tubertrack.core.losses.filling_lines import Dimension, FillingLine, Named
from tubertrack.core.losses.groups import Row, row_of, rows_by
from tubertrack.core.losses.opening import Sentence, WorstCrate

UNITS_IN_ORDER = ("tuber", "clump", "cutting", "pot_plant")
EVERYTHING = Named("", "everything")


@dataclass(frozen=True, slots=True)
class Table:
    """All rows of one unit, with the row of everything; rows never mix units."""

    unit: str
    everything: Row
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class LossReport:
    """What one winter lost.

    as_of: last day whose entries are in it. opening: sentences to read first, in order. worst: at
    most three crates. methods: storage methods beside each other. verdict: what to make of it and
    what to do next. tables: one for each unit that was stored, tubers first; empty when nothing was packed.
    """

    winter: str
    by: Dimension
    as_of: date
    opening: tuple[Sentence, ...]
    worst: tuple[WorstCrate, ...]
    methods: tuple[Sentence, ...]
    verdict: tuple[Sentence, ...]
    tables: tuple[Table, ...]

    @property
    def is_under_way(self) -> bool:
        """True while any of it is still in store."""
        return any(table.everything.in_store.count for table in self.tables)


def loss_report(
    lines: Sequence[FillingLine], *, winter: str, by: Dimension, as_of: date
) -> LossReport:
    """The report of the lines of one winter, grouped by one dimension.

    Shape: one FillingLine per stay, all of this winter. Empty: no lines give a report that says so.
    Errors: none; a history that does not add up shows as "not accounted for" or a negative count.
    Source: ranges as in crate_wilson and early_leavers.
    """
    kept = {unit: verdict.lines_in(lines, unit) for unit in _units(lines)}
    tables = tuple(
        Table(
            unit,
            row_of(EVERYTHING, of_unit, Dimension.VARIETY),
            tuple(rows_by(of_unit, by)),
        )
        for unit, of_unit in kept.items()
        if of_unit
    )
    said: list[Sentence] = [opening.reconciliation(table.everything) for table in tables]
    for table in tables:
        said.append(opening.how_hard_we_looked(table.everything, kept[table.unit]))
        if without := opening.accidents(table.everything):
            said.append(without)
    if not tables:
        said.append(Sentence("nothing", f"Nothing was packed in the winter {winter}."))
    compared = _compared_unit(tables)
    methods = rows_by(kept[compared], Dimension.METHOD) if compared else []
    in_store = sum(row.in_store.count for row in methods)
    return LossReport(
        winter=winter,
        by=by,
        as_of=as_of,
        opening=tuple(said),
        worst=tuple(opening.worst_crates([line for part in kept.values() for line in part])),
        methods=tuple(verdict.method_against_method(methods, kept[compared])) if compared else (),
        verdict=tuple(verdict.verdict(methods, kept[compared] if compared else [], in_store)),
        tables=tables,
    )


def _units(lines: Sequence[FillingLine]) -> list[str]:
    units = {line.unit for line in lines}
    known = [unit for unit in UNITS_IN_ORDER if unit in units]
    return known + sorted(units - set(known))


def _compared_unit(tables: Sequence[Table]) -> str:
    """Tubers where there are any, since methods are compared within one unit."""
    return tables[0].unit if tables else ""
