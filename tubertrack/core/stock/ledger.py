"""What each kind of entry posts, computed from its own body alone, so that sums never depend on order.

Only `counted` (and `emptied`, a count of nothing) is absolute: it posts the difference to the
balance at its place in the order, which the lot's own history works out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from tubertrack.core.stock.entries import Act

IN = (
    "dug",
    "divided",
    "bought",
    "found",
    "returned",
    "struck",
    "rooted",
    "potted",
    "graded",
    "transfer_in",
)
OUT = ("thrown_out", "gone_out", "planted", "used_up", "transfer_out")
THE_LOTS_OWN = ""

Line = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Posting:
    """A signed amount on one account of one lot. `unit` "" means the lot's own unit."""

    lot: str
    account: str
    amount: int
    stage: str = ""
    cause: str = ""
    how: str = ""
    unit: str = THE_LOTS_OWN


def postings(act: Act) -> list[Posting]:
    """All amounts that an entry posts by itself; kinds that move no stock post nothing."""
    poster = _POSTERS.get(act.kind)
    return [] if poster is None else [line for line in poster(act.body) if line.amount]


def _thrown(
    lot: str, counts: dict[str, int], stage: str, unit: str = THE_LOTS_OWN
) -> Iterator[Posting]:
    for cause in sorted(counts):
        yield Posting(lot, "thrown_out", -counts[cause], stage, cause, unit=unit)


def _taken(lines: list[Line], account: str, stage: str) -> Iterator[Posting]:
    """Stock taken from lots: what was thrown out while at it, and the rest to `account`."""
    for line in lines:
        thrown = line.get("thrown_out", {})
        yield from _thrown(line["lot"], thrown, stage)
        yield Posting(line["lot"], account, -left_of(line))


def _given(lines: list[Line], account: str) -> Iterator[Posting]:
    for line in lines:
        yield Posting(line["lot"], account, line["count"])


def left_of(line: Line) -> int:
    """How many a line hands on: its count less what was thrown out."""
    return int(line["count"] - sum(line.get("thrown_out", {}).values()))


def _discarded(lot: str, counts: dict[str, int], account: str) -> Iterator[Posting]:
    """Tubers thrown out at the bench: they came off this lot and never were in any other."""
    if total := sum(counts.values()):
        yield Posting(lot, account, total, unit="tuber")
        yield from _thrown(lot, counts, "bench", unit="tuber")


def _dug(body: Line) -> Iterator[Posting]:
    yield from _given(body["lots"], "dug")


def _divided(body: Line) -> Iterator[Posting]:
    yield from _taken(body["from"], "used_up", "bench")
    yield from _given(body["into"], "divided")
    yield from _discarded(body["from"][0]["lot"], body.get("discarded", {}), "divided")


def _graded(body: Line) -> Iterator[Posting]:
    yield from _taken(body["from"], "used_up", "bench")
    yield from _given(body["into"], "graded")
    yield from _discarded(body["from"][0]["lot"], body.get("discarded", {}), "graded")


def _handed_on(taken: list[Line], given: list[Line], stage: str) -> Iterator[Posting]:
    """A transfer: what one side hands on the other receives, and what the counts differ by is
    posted as a difference on the lots taken from, so that no tuber appears or goes in silence.
    """
    rest = sum(line["count"] for line in given)
    for i, line in enumerate(taken):
        thrown = line.get("thrown_out", {})
        left = left_of(line)
        handed = rest if i == len(taken) - 1 else max(0, min(left, rest))
        rest -= handed
        yield from _thrown(line["lot"], thrown, stage)
        yield Posting(line["lot"], "transfer_out", -handed)
        yield Posting(line["lot"], "difference", handed - left)
    yield from _given(given, "transfer_in")


def _split(body: Line) -> Iterator[Posting]:
    yield from _handed_on(body["from"], body["into"], "store")


def _packed(body: Line) -> Iterator[Posting]:
    taken = body.get("from", [])
    if not taken:
        yield from _given(body["lots"], "found")
        return
    yield from _handed_on(taken, body["lots"], "drying")


def _checked(body: Line) -> Iterator[Posting]:
    for line in body["lines"]:
        yield from _thrown(line["lot"], line.get("removed", {}), "store")


def _found(body: Line) -> Iterator[Posting]:
    yield Posting(body["lot"], "found", body["count"])


def _bought(body: Line) -> Iterator[Posting]:
    yield Posting(body["lot"], "bought", body["count"])


def _returned(body: Line) -> Iterator[Posting]:
    yield Posting(body["lot"], "returned", body["count"])


def _gone_out(body: Line) -> Iterator[Posting]:
    yield Posting(body["lot"], "gone_out", -body["count"], how=body["how"])


def _woken(body: Line) -> Iterator[Posting]:
    yield from _thrown(body["lot"], body.get("thrown_out", {}), "spring")


def _planted(body: Line) -> Iterator[Posting]:
    yield from _taken(body.get("from", []), "planted", "spring")


def _struck(body: Line) -> Iterator[Posting]:
    yield from _given(body["into"], "struck")


def _rooted(body: Line) -> Iterator[Posting]:
    yield from _taken(body["from"], "used_up", "spring")
    yield from _given(body["into"], "rooted")


def _potted(body: Line) -> Iterator[Posting]:
    yield from _taken(body["from"], "used_up", "spring")
    yield from _given(body["into"], "potted")


_POSTERS = {
    "dug": _dug,
    "divided": _divided,
    "graded": _graded,
    "split": _split,
    "packed": _packed,
    "checked": _checked,
    "found": _found,
    "bought": _bought,
    "returned": _returned,
    "gone_out": _gone_out,
    "woken": _woken,
    "planted": _planted,
    "struck": _struck,
    "rooted": _rooted,
    "potted": _potted,
}
