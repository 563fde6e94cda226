"""The plain shape of what lay in store: one line for each lot in each crate, packed one way.

A line is one stay of one lot. What came in and what became of it are amounts with their dates and
the entries they come from, so every figure of a report can be opened. Counts are integers of the
line's own unit; units are never added to each other.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

ACCIDENTS = frozenset({"frozen", "flooded", "eaten", "by_mistake"})
"""Causes that say something about a night, a mouse or a hand, and little about the way of storing."""


class Dimension(StrEnum):
    """What a loss report can be grouped by."""

    METHOD = "method"
    VARIETY = "variety"
    PLACE = "place"
    PACKING = "packing"
    MOISTURE = "moisture"


@dataclass(frozen=True, slots=True)
class Named:
    """Something with an id and the words people know it by. An empty id: not written down."""

    id: str
    label: str


@dataclass(frozen=True, slots=True)
class Amount:
    """So many of the line's unit, on a day, by an entry. `how`: cause, way out or kind of entry."""

    on: date
    count: int
    record: str
    how: str = ""


@dataclass(frozen=True, slots=True)
class Look:
    """A look at the line. sound: tubers seen and good (0: nobody counted what was seen).

    whole: every tuber was gone through or counted.
    """

    on: date
    record: str
    sound: int
    whole: bool


@dataclass(frozen=True, slots=True)
class FillingLine:
    """One stay of one lot.

    entered: how it came in, "packed", "found" or "moved_in" (from another line, by a split, a repacking
    or a move), one Amount per entry. differences: signed, found +, missing -. moved_out: to
    another line or to the bench. brought_out: taken out good (woken, planted, divided).
    cut_away: tubers thrown out when clumps of the line were divided; not of the line's unit.
    about: the count it rests on is a guess. until None: it is still there.
    continues: the same lot lay in its previous line until this one began (the crate was moved to
    another place, or the lot to another crate); its entry is what the previous line moved out.
    looks may begin before `since` when the lot was gone through in an earlier line of this winter.
    """

    lot: str
    unit: str
    crate: Named
    first_crate: Named
    packed_on: date
    since: date
    belongs: Mapping[Dimension, Named]
    until: date | None = None
    about: bool = False
    entered: tuple[Amount, ...] = ()
    thrown: tuple[Amount, ...] = ()
    gone_out: tuple[Amount, ...] = ()
    differences: tuple[Amount, ...] = ()
    moved_out: tuple[Amount, ...] = ()
    brought_out: tuple[Amount, ...] = ()
    cut_away: tuple[Amount, ...] = ()
    looks: tuple[Look, ...] = ()
    continues: bool = False

    @property
    def in_store(self) -> int:
        """What is still there by the book; below 0 when more went out than came in."""
        came = total(self.entered) + total(self.differences)
        return came - sum(
            total(part) for part in (self.thrown, self.gone_out, self.moved_out, self.brought_out)
        )

    def of(self, dimension: Dimension) -> Named:
        """The method, variety, place, packing or moisture of the line."""
        return self.belongs.get(dimension, Named("", ""))


def total(amounts: Iterable[Amount]) -> int:
    """Sum of the counts."""
    return sum(amount.count for amount in amounts)


def is_entry(record: str) -> bool:
    """Whether this is the hash of an entry; steps from one stay to the next have names of their own."""
    return bool(record) and ":" not in record


def joined(lines: Iterable[FillingLine], dimension: Dimension) -> list[FillingLine]:
    """The lines with those of one lot put together again where nothing changed in this dimension.

    A crate carried to another shelf is one stay when storage methods are compared, and two stays
    when places are.
    """
    done: list[FillingLine] = []
    last_of: dict[str, int] = {}
    for line in sorted(lines, key=lambda line: (line.lot, line.since, line.continues)):
        at = last_of.get(line.lot)
        if at is not None and line.continues and _is_one_stay(done[at], line, dimension):
            done[at] = _join(done[at], line)
        else:
            last_of[line.lot] = len(done)
            done.append(line)
    return done


def _is_one_stay(first: FillingLine, second: FillingLine, dimension: Dimension) -> bool:
    same_place = first.of(dimension).id == second.of(dimension).id
    return (
        same_place and first.first_crate.id == second.first_crate.id and first.unit == second.unit
    )


def _join(first: FillingLine, second: FillingLine) -> FillingLine:
    handed = {amount.record for amount in second.entered} & {
        amount.record for amount in first.moved_out
    }
    return replace(
        second,
        packed_on=first.packed_on,
        since=first.since,
        about=first.about or second.about,
        continues=first.continues,
        entered=first.entered + tuple(a for a in second.entered if a.record not in handed),
        thrown=first.thrown + second.thrown,
        gone_out=first.gone_out + second.gone_out,
        differences=first.differences + second.differences,
        moved_out=tuple(a for a in first.moved_out if a.record not in handed) + second.moved_out,
        brought_out=first.brought_out + second.brought_out,
        cut_away=first.cut_away + second.cut_away,
        looks=tuple(sorted({*first.looks, *second.looks}, key=lambda look: (look.on, look.record))),
    )
