"""What filling lines prove about a way of storing, and what they leave open.

A tuber counts once somebody went through it after packing, or once its fate is known. A look on
top vouches for nothing, a look at ten vouches for ten. Lines nobody went through say nothing
either way: the losses found in them by chance would only make the share too low, so they stay out of
the share and are named beside it. Counts that are a guess never enter.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from tubertrack.core.losses.crate_wilson import CrateCount, Interval, crate_wilson
from tubertrack.core.losses.early_leavers import Followed, early_leavers
from tubertrack.core.losses.filling_lines import ACCIDENTS, FillingLine, total


def was_gone_through(line: FillingLine) -> bool:
    """True when a part of it at least was counted sound after packing, or everything's fate is known."""
    if total(line.brought_out) > 0 or line.vouched.count > 0:
        return True
    if any(look.whole for look in line.looks):
        return True
    return line.in_store <= 0 and (line.until is not None or total(line.thrown) > 0)


def counts_in_the_share(line: FillingLine) -> bool:
    """True when the line enters the share and its range."""
    return not line.about and was_gone_through(line)


def known_losses_outside(lines: Iterable[FillingLine]) -> int:
    """Tubers thrown out of lines that nobody went through: not in the share."""
    return sum(total(line.thrown) for line in lines if not counts_in_the_share(line))


def crate_counts(lines: Iterable[FillingLine]) -> list[CrateCount]:
    """Sound, inspected and all accounted for, by crate of first packing.

    What is not accounted for and what went out is in none of the three.
    """
    sums: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0])
    for line in lines:
        if not counts_in_the_share(line):
            continue
        sound = max(0, total(line.brought_out)) + line.vouched.count
        inspected = sound + total(line.thrown)
        unseen = max(0, line.in_store - line.vouched.count)
        for i, n in enumerate((sound, inspected, inspected + unseen)):
            sums[line.first_crate.id][i] += n
    return [CrateCount(*sums[crate]) for crate in sorted(sums)]


def followed(lines: Sequence[FillingLine], *, without_accidents: bool = False) -> list[Followed]:
    """Every tuber of the lines with the days it was followed, by crate of first packing.

    Tubers brought out good came through, whatever the day they were woken: they are followed to
    the last day of the group. Days are proleptic ordinals.
    """
    used = [line for line in lines if counts_in_the_share(line)]
    last = _last_day(used)
    return [
        one for line in used for one in _of_line(line, last, without_accidents=without_accidents)
    ]


def _last_day(lines: Iterable[FillingLine]) -> int:
    days = [line.since for line in lines]
    for line in lines:
        for amounts in (line.thrown, line.gone_out, line.moved_out, line.brought_out):
            days += [amount.on for amount in amounts]
        if line.in_store > 0:
            days.append(line.vouched.on)
    return max((day.toordinal() for day in days), default=0)


def _of_line(line: FillingLine, last: int, *, without_accidents: bool) -> Iterable[Followed]:
    crate, start = line.first_crate.id, line.since.toordinal()
    for loss in line.thrown:
        if without_accidents and loss.how in ACCIDENTS:
            yield Followed(crate, loss.count, start, loss.on.toordinal())
        else:
            after = max(start, last_whole_look(line, loss.on).toordinal())
            yield Followed(crate, loss.count, start, loss.on.toordinal(), after)
    for amount in (*line.gone_out, *line.moved_out):
        yield Followed(crate, amount.count, start, amount.on.toordinal())
    yield Followed(crate, total(line.brought_out), start, last)
    if line.in_store > 0:
        seen = line.vouched
        known_until = max([seen.on, *(loss.on for loss in line.thrown)])
        # gone through on the day of packing: at risk for a day, as the losses of that day are
        yield Followed(crate, seen.count, start, max(known_until.toordinal(), start + 1))
        rest = max(0, line.in_store - seen.count)
        yield Followed(crate, rest, start, seen.rest_on.toordinal())


def last_whole_look(line: FillingLine, before: date) -> date:
    """The last day before `before` on which all of the line was gone through, or its first day."""
    days = [look.on for look in line.looks if look.whole and look.on < before]
    return max(days, default=line.since)


@dataclass(frozen=True, slots=True)
class Passage:
    """What crossed the border of a group of lines; moves inside the group cancel."""

    moved_in: int
    moved_out: int


def passage(lines: Iterable[FillingLine]) -> Passage:
    """Moved in from and out to lines that are not in the group, matched entry by entry."""
    inward: dict[str, int] = defaultdict(int)
    outward: dict[str, int] = defaultdict(int)
    for line in lines:
        for amount in line.entered:
            if amount.how == "moved_in":
                inward[amount.record] += amount.count
        for amount in line.moved_out:
            outward[amount.record] += amount.count
    inside = {record: min(n, outward[record]) for record, n in inward.items() if record in outward}
    stayed = sum(inside.values())
    return Passage(sum(inward.values()) - stayed, sum(outward.values()) - stayed)


def somebody_left_early(lines: Sequence[FillingLine]) -> bool:
    """True as soon as one tuber went out sound, or entered or left for another group, before the end."""
    sure = [line for line in lines if not line.about]
    crossed = passage(sure)
    return (
        any(total(line.gone_out) for line in sure) or crossed.moved_in > 0 or crossed.moved_out > 0
    )


def came_through(lines: Sequence[FillingLine]) -> Interval | None:
    """Share that came through with its range; None when nobody has gone through any of it yet.

    As soon as one tuber left early the share is followed day by day, never counted at the end.
    """
    if somebody_left_early(lines):
        return early_leavers(followed(lines))
    return crate_wilson(crate_counts(lines))


def without_accidents(lines: Sequence[FillingLine]) -> Interval | None:
    """The same as if frost, flood, mice and mistakes had only taken tubers away sound; None without any."""
    if not any(loss.how in ACCIDENTS for line in lines for loss in line.thrown):
        return None
    return early_leavers(followed(lines, without_accidents=True))
