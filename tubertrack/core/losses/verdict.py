"""What one winter's records say about one storage method against another, and what to do next.

Records describe, they do not prove: growers put easy varieties into new methods. So the verdict says
what differs, whether the ranges keep apart, whether the methods held the same varieties, and which
varieties to share out next autumn so that the next report can tell.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from tubertrack.core.losses import wording
from tubertrack.core.losses.crate_wilson import FEW, Interval
from tubertrack.core.losses.filling_lines import Dimension, FillingLine, total
from tubertrack.core.losses.groups import Row
from tubertrack.core.losses.opening import Sentence

MOST_TO_SPLIT = 4
ENOUGH_TO_SPLIT = 8


def _tellable(rows: Sequence[Row]) -> list[tuple[Row, Interval]]:
    found = [(row, row.came_through) for row in rows if row.key.id]
    sure = [(row, i) for row, i in found if i is not None and i.crates > 1 and FEW not in i.notes]
    return sorted(sure, key=lambda pair: (-pair[1].share, pair[0].key.label))


def _varieties(lines: Sequence[FillingLine], method: str) -> dict[str, str]:
    of_method = [line for line in lines if line.of(Dimension.METHOD).id == method]
    return {line.of(Dimension.VARIETY).id: line.of(Dimension.VARIETY).label for line in of_method}


def method_against_method(rows: Sequence[Row], lines: Sequence[FillingLine]) -> list[Sentence]:
    """Best method beside each other one: shares, ranges, and whether they held the same varieties."""
    told = _tellable(rows)
    if len(told) < 2:
        return []
    (best, best_range), rest = told[0], told[1:]
    return [_pair(best, best_range, other, other_range, lines) for other, other_range in rest]


def _pair(
    best: Row,
    best_range: Interval,
    other: Row,
    other_range: Interval,
    lines: Sequence[FillingLine],
) -> Sentence:
    apart = best_range.low > other_range.high
    text = (
        f"{best.key.label} {wording.percent(best_range.share)}, "
        f"{other.key.label} {wording.percent(other_range.share)}: "
        f"the ranges {'keep apart' if apart else 'overlap'}."
    )
    ours, theirs = _varieties(lines, best.key.id), _varieties(lines, other.key.id)
    both = set(ours) & set(theirs)
    if both != set(ours) or both != set(theirs):
        text += (
            f" Not the same varieties ({len(ours)} and {len(theirs)}, {len(both) or 'none'} in both),"
            " so they may be the reason."
        )
    crates = tuple(crate.id for crate in (*best.crates, *other.crates))
    return Sentence("method_against_method", text, crates)


def verdict(rows: Sequence[Row], lines: Sequence[FillingLine], in_store: int) -> list[Sentence]:
    """One sentence of verdict and one of what to do next; at least the next step, always."""
    told = _tellable(rows)
    named = [row for row in rows if row.key.id]
    if not rows:
        return [
            Sentence("verdict", "Nothing was packed this winter."),
            Sentence("next", "Pack and count a crate."),
        ]
    if not named:
        return [
            Sentence(
                "verdict",
                "No storage method was written down, so there is nothing to compare.",
            ),
            Sentence("next", "Choose the storage method when you pack; it is one tap."),
        ]
    if len(named) == 1:
        text = f"One storage method only ({named[0].key.label}): nothing to compare it with."
        return [Sentence("verdict", text), _try_a_second(named[0], lines)]
    if len(told) < 2:
        return [
            Sentence("verdict", "Too few counts to compare storage methods."),
            _go_through(rows, in_store),
        ]
    return _compared(told, lines, in_store)


def _compared(
    told: Sequence[tuple[Row, Interval]], lines: Sequence[FillingLine], in_store: int
) -> list[Sentence]:
    (best, best_range), (worst, worst_range) = told[0], told[-1]
    if best_range.low > worst_range.high:
        text = f"{worst.key.label} lost more than {best.key.label} in these records."
    else:
        text = "Not enough to change."
    if in_store:
        text = (
            f"So far: {text[0].lower()}{text[1:]}" if text.startswith("Not") else f"So far {text}"
        )
    other = max((row for row, _ in told[1:]), key=lambda row: row.packed.count + row.moved_in)
    return [Sentence("verdict", text), _share_out(best, other, lines)]


def _to_split(lines: Sequence[FillingLine]) -> list[str]:
    counts: dict[str, int] = defaultdict(int)
    for line in lines:
        variety = line.of(Dimension.VARIETY)
        if variety.id:
            counts[variety.label] += sum(a.count for a in line.entered if a.how == "packed")
    able = [(label, n) for label, n in counts.items() if n >= ENOUGH_TO_SPLIT]
    return [label for label, _ in sorted(able, key=lambda item: (-item[1], item[0]))][
        :MOST_TO_SPLIT
    ]


def _share_out(best: Row, other: Row, lines: Sequence[FillingLine]) -> Sentence:
    names = _to_split(lines)
    if not names:
        return Sentence(
            "next",
            "Pack more of each variety before comparing: 8 tubers or more of one variety.",
        )
    return Sentence(
        "next",
        f"Split {_these(names)} next autumn: half the crates of each into {best.key.label}, "
        f"half into {other.key.label}, drawn by lot.",
    )


def _these(names: Sequence[str]) -> str:
    word = "this variety" if len(names) == 1 else f"these {len(names)} varieties"
    return f"{word} ({wording.listed(names)})"


def _try_a_second(row: Row, lines: Sequence[FillingLine]) -> Sentence:
    names = _to_split(lines)
    if not names:
        return Sentence(
            "next",
            f"Keep counting: {row.key.label} needs more tubers before a second method is worth trying.",
        )
    return Sentence(
        "next",
        f"Split {_these(names)} next autumn: half as now, half in a second storage method.",
    )


def _go_through(rows: Sequence[Row], in_store: int) -> Sentence:
    if in_store:
        return Sentence(
            "next",
            "Go through a few crates of each storage method, all the tubers, at the next check.",
        )
    return Sentence(
        "next",
        "Next winter pack two crates or more of each storage method and count them out in spring.",
    )


def lines_in(lines: Sequence[FillingLine], unit: str) -> list[FillingLine]:
    """The lines of one unit that held anything."""
    return [line for line in lines if line.unit == unit and (total(line.entered) or line.in_store)]
