"""One row of a loss report: what came in, what became of it, and what share came through."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from tubertrack.core.losses import evidence
from tubertrack.core.losses.crate_wilson import (
    MUCH_ALIKE,
    Interval,
    alikeness,
    cautions,
)
from tubertrack.core.losses.filling_lines import (
    Amount,
    Dimension,
    FillingLine,
    Named,
    is_entry,
    joined,
    total,
)

MOVED_IN = "moved_in"


@dataclass(frozen=True, slots=True)
class Figure:
    """A count with the crates and entries it comes from, so that it can be opened."""

    count: int
    crates: tuple[str, ...] = ()
    records: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Seen:
    """How hard the tubers were looked at.

    seen: fate known, or gone through since packing, between the days seen_from and seen_to.
    not_seen: still in store and not gone through since not_seen_since (the oldest such day).
    """

    seen: int
    seen_from: date | None
    seen_to: date | None
    not_seen: int
    not_seen_since: date | None


@dataclass(frozen=True, slots=True)
class Row:
    """One storage method, variety, place or packing, in one unit.

    It always balances: packed + found + moved_in = thrown out + gone out + missing + moved_out +
    brought_out + in_store. came_through: None while nobody has gone through any of it. by_the_book: share
    of what is still in store or was brought out, of that and what was thrown out (None: nothing).
    worst_case: the share if all that is not accounted for was lost. outside: tubers thrown out of
    crates nobody went through, not in the share. cut_away: tubers thrown out when clumps of the row were
    divided, never added to clumps. overdrawn: how many more went out of lines than came in. about: tubers whose packed count is a guess.
    """

    key: Named
    unit: str
    packed: Figure
    found: Figure
    moved_in: int
    thrown: dict[str, Figure]
    gone_out: dict[str, Figure]
    missing: Figure
    moved_out: int
    brought_out: Figure
    in_store: Figure
    cut_away: Figure
    about: int
    seen: Seen
    came_through: Interval | None
    without_accidents: Interval | None
    by_the_book: float | None
    worst_case: float | None
    outside: int
    overdrawn: int
    crates: tuple[Named, ...]
    checks: tuple[str, ...]

    @property
    def lost(self) -> int:
        """Tubers thrown out of the store or on waking, all causes."""
        return sum(figure.count for figure in self.thrown.values())

    @property
    def went_out(self) -> int:
        """Tubers sold, given and so on, all ways."""
        return sum(figure.count for figure in self.gone_out.values())

    @property
    def balances(self) -> bool:
        """Whether everything that came in is named on the other side."""
        came = self.packed.count + self.found.count + self.moved_in
        fate = self.lost + self.went_out + self.missing.count + self.moved_out
        return came == fate + self.brought_out.count + self.in_store.count


def _figure(
    lines: Iterable[FillingLine], pick: Callable[[FillingLine], Iterable[Amount]]
) -> Figure:
    count = 0
    crates: dict[str, None] = {}
    records: dict[str, None] = {}
    for line in lines:
        for amount in pick(line):
            count += amount.count
            if amount.count:
                crates[line.crate.id] = None
                if is_entry(amount.record):
                    records[amount.record] = None
    return Figure(count, tuple(crates), tuple(records))


def _by_how(
    lines: Sequence[FillingLine], pick: Callable[[FillingLine], Iterable[Amount]]
) -> dict[str, Figure]:
    hows = {amount.how for line in lines for amount in pick(line) if amount.count}

    def only(how: str) -> Callable[[FillingLine], Iterable[Amount]]:
        return lambda line: (amount for amount in pick(line) if amount.how == how)

    found = {how: _figure(lines, only(how)) for how in hows}
    return dict(sorted(found.items(), key=lambda item: (-item[1].count, item[0])))


def _in_store(lines: Sequence[FillingLine]) -> Figure:
    held = [line for line in lines if line.in_store]
    return Figure(
        sum(line.in_store for line in held),
        tuple(dict.fromkeys(line.crate.id for line in held)),
        tuple(dict.fromkeys(look.record for line in held for look in line.looks)),
    )


def seen_in(lines: Sequence[FillingLine]) -> Seen:
    """How many of the tubers were seen or their fate is known, and since when the others were not."""
    seen, not_seen, seen_on, since = 0, 0, [], []
    for line in lines:
        vouch = line.vouched
        settled = total(line.brought_out) + total(line.thrown) + total(line.gone_out)
        rest = max(0, line.in_store - vouch.count)
        seen += settled + vouch.count
        not_seen += rest
        if vouch.count:
            seen_on.append(vouch.on)
        if rest:
            since.append(vouch.rest_on)
    return Seen(
        seen,
        min(seen_on, default=None),
        max(seen_on, default=None),
        not_seen,
        min(since, default=None),
    )


def _more(line: FillingLine) -> Iterable[Amount]:
    """What turned up: stock found, and counts above the book."""
    yield from (amount for amount in line.entered if amount.how == "found")
    yield from (amount for amount in line.differences if amount.count > 0)


def row_of(key: Named, lines: Sequence[FillingLine], dimension: Dimension) -> Row:
    """The row of lines that share a key and a unit. Errors: ValueError when the units differ."""
    units = {line.unit for line in lines}
    if len(units) != 1:
        raise ValueError(f"Units are counted apart: one row cannot hold {sorted(units)}.")
    stays = joined(lines, dimension)
    crossed = evidence.passage(lines)
    short = _figure(lines, lambda line: (a for a in line.differences if a.count < 0))
    missing = replace(short, count=-short.count)
    interval = evidence.came_through(stays)
    good = sum(total(line.brought_out) + max(0, line.in_store) for line in lines)
    lost = sum(total(line.thrown) for line in lines)
    return Row(
        key=key,
        unit=units.pop(),
        packed=_figure(lines, lambda line: (a for a in line.entered if a.how == "packed")),
        found=_figure(lines, _more),
        moved_in=crossed.moved_in,
        thrown=_by_how(lines, lambda line: line.thrown),
        gone_out=_by_how(lines, lambda line: line.gone_out),
        missing=missing,
        moved_out=crossed.moved_out,
        brought_out=_figure(lines, lambda line: line.brought_out),
        in_store=_in_store(lines),
        cut_away=_figure(lines, lambda line: line.cut_away),
        about=sum(total(line.entered) for line in lines if line.about),
        seen=seen_in(stays),
        came_through=interval,
        without_accidents=evidence.without_accidents(stays),
        by_the_book=good / (good + lost) if good + lost else None,
        worst_case=_worst_case(interval, stays, missing.count),
        outside=evidence.known_losses_outside(stays),
        overdrawn=-sum(min(0, line.in_store) for line in stays),
        crates=tuple({line.crate.id: line.crate for line in lines}.values()),
        checks=tuple(dict.fromkeys(look.record for line in lines for look in line.looks)),
    )


def _worst_case(
    interval: Interval | None, lines: Iterable[FillingLine], missing: int
) -> float | None:
    """The share if what is not accounted for had all been lost."""
    if interval is None:
        return None
    known = sum(
        total((*line.thrown, *line.gone_out, *line.brought_out)) + max(0, line.in_store)
        for line in lines
        if evidence.counts_in_the_share(line)
    )
    return interval.share * known / (known + missing) if known + missing else None


def rows_by(lines: Sequence[FillingLine], dimension: Dimension) -> list[Row]:
    """One row for each thing of the dimension, the worst share first; all lines of one unit.

    Rows without a share come last, most tubers first.
    """
    keys = {line.of(dimension).id: line.of(dimension) for line in lines}
    groups = [(key, _of(lines, key, dimension)) for key in keys.values()]
    rows = [row_of(key, group, dimension) for key, group in groups]
    alike = alikeness(evidence.crate_counts(joined(group, dimension)) for _, group in groups)
    if alike is not None and alike > MUCH_ALIKE:
        rows = [_with_alikeness(row, alike) for row in rows]
    return sorted(rows, key=_worst_first)


def _worst_first(row: Row) -> tuple[bool, float, int, str, str]:
    share = row.came_through.share if row.came_through else 0.0
    many = row.packed.count + row.moved_in
    return row.came_through is None, share, -many, row.key.label, row.key.id


def _of(lines: Iterable[FillingLine], key: Named, dimension: Dimension) -> list[FillingLine]:
    return [line for line in lines if line.of(dimension).id == key.id]


def _with_alikeness(row: Row, alike: float) -> Row:
    if row.came_through is None:
        return row
    found = row.came_through
    notes = cautions(found.crates, found.tubers, alike)
    return replace(row, came_through=replace(found, notes=notes))
