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
from functools import cached_property

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
class Vouched:
    """What is known of the tubers still in store: `count` of them were sound on `on`.

    rest_on: day on which the others were last gone through (or packed).
    """

    count: int
    on: date
    rest_on: date


@dataclass(frozen=True)
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

    @cached_property
    def in_store(self) -> int:
        """What is still there by the book; below 0 when more went out than came in."""
        came = total(self.entered) + total(self.differences)
        return came - sum(
            total(part) for part in (self.thrown, self.gone_out, self.moved_out, self.brought_out)
        )

    @cached_property
    def vouched(self) -> Vouched:
        """How many of those still in store were seen sound after packing, and when."""
        in_store = max(0, self.in_store)
        whole = [look for look in self.looks if look.whole]
        some = [look for look in self.looks if not look.whole and look.sound]
        rest_on, by_whole = self.since, 0
        if whole:
            last = max(whole, key=lambda look: look.on)
            rest_on, by_whole = last.on, max(0, last.sound - self._gone_after(last.on))
        if some:
            latest = max(some, key=lambda look: look.on)
            by_some = max(0, latest.sound - self._gone_after(latest.on))
            is_newer = not whole or latest.on > rest_on
            if is_newer and min(in_store, by_some) >= min(in_store, by_whole):
                return Vouched(min(in_store, by_some), latest.on, rest_on)
        unseen_on = rest_on if by_whole >= in_store else self.since
        return Vouched(min(in_store, by_whole), rest_on, unseen_on)

    def _gone_after(self, day: date) -> int:
        """Tubers that left the line, one way or the other, after a day, less those added later."""
        out = (*self.thrown, *self.gone_out, *self.moved_out, *self.brought_out)
        late = sum(amount.count for amount in self.entered if amount.on > max(day, self.since))
        found = sum(amount.count for amount in self.differences if amount.on > day)
        return sum(amount.count for amount in out if amount.on > day) - late - found

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
