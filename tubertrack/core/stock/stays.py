"""Where a lot lay in store, packed how, from when to when; the only part of the stock that needs order.

What a lot takes over from its parent is looked up strictly before the entry that made it, so a lot
that went back and forth between two others is no riddle: each step leads to an earlier entry.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from tubertrack.core.stock.entries import Act, OrderKey
from tubertrack.core.stock.facts import births, placements

DEEPEST = 200
"""Longest line of parents followed; a longer one is taken as not packed."""


@dataclass(frozen=True, slots=True)
class Stay:
    """One lot in one crate, packed one way. `until` is None while it lasts."""

    crate: str
    method: str
    moisture: str
    packed_on: str
    first_crate: str
    entered: str
    since: OrderKey
    until: OrderKey | None = None
    ended: str = ""


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """A lot's container and the stays it had, at some place in the order."""

    container: str
    placed_by: OrderKey | None
    stays: tuple[Stay, ...]

    @property
    def current(self) -> Stay | None:
        return self.stays[-1] if self.stays and self.stays[-1].until is None else None


ActsOf = Callable[[str], Sequence[Act]]
PackingOf = Callable[[str, OrderKey], tuple[str, str, str] | None]
"""(crate, key) -> (method, moisture, packed_on) of the crate's last packing before key."""
NOWHERE = Whereabouts("", None, ())
Found = dict[tuple[str, str, int], Whereabouts]
"""(lot, hash, depth) -> what was found before that entry: lots repacked to and fro are asked for
over and over, and without this the time would double with each repacking."""


def whereabouts(
    lot: str,
    acts_of: ActsOf,
    packing_of: PackingOf,
    *,
    before: OrderKey | None = None,
    depth: int = 0,
    found: Found | None = None,
) -> Whereabouts:
    """Container and stays of a lot after all its entries, or only those before a key."""
    at = NOWHERE
    found = {} if found is None else found
    if depth > DEEPEST:
        return at
    for act in acts_of(lot):
        if before is not None and act.key >= before:
            break
        at = _step(lot, act, at, acts_of, packing_of, depth, found)
    return at


def _step(
    lot: str,
    act: Act,
    at: Whereabouts,
    acts_of: ActsOf,
    packing_of: PackingOf,
    depth: int,
    found: Found,
) -> Whereabouts:
    if act.kind == "woken" and act.body["lot"] == lot:
        return _reopen(at, act) if act.body.get("back") else _close(at, act, "woken")
    put = dict(placements(act)).get(lot)
    if act.kind == "emptied":
        return (
            at
            if put is None
            else replace(_close(at, act, "emptied"), container="", placed_by=act.key)
        )
    if act.kind == "packed" and put is not None:
        parent = _before_act(_parent(lot, act), act, acts_of, packing_of, depth, found)
        origin = parent.current or at.current
        return _open(_close(at, act, "repacked"), _packed_stay(act, put, origin), act)
    if act.kind == "moved":
        return at if put is None else _move(at, act, put)
    born = next((birth for birth in births(act) if birth.lot == lot), None)
    if born is None or at.placed_by is not None:
        return at
    return _born(born.container, act, lot, acts_of, packing_of, depth, found)


def _parent(lot: str, act: Act) -> str:
    return next((line["lot"] for line in act.body.get("from", []) if line["lot"] != lot), "")


def _before_act(
    lot: str, act: Act, acts_of: ActsOf, packing_of: PackingOf, depth: int, found: Found
) -> Whereabouts:
    if not lot:
        return NOWHERE
    asked = lot, act.sha256, depth
    if asked not in found:
        found[asked] = whereabouts(
            lot, acts_of, packing_of, before=act.key, depth=depth + 1, found=found
        )
    return found[asked]


def _packed_stay(act: Act, crate: str, origin: Stay | None) -> Stay:
    body = act.body
    return Stay(
        crate=crate,
        method=body.get("method", ""),
        moisture=body.get("moisture", ""),
        packed_on=act.on,
        first_crate=origin.first_crate if origin else crate,
        entered="repacked" if origin else "packed",
        since=act.key,
    )


def _born(
    container: str,
    act: Act,
    lot: str,
    acts_of: ActsOf,
    packing_of: PackingOf,
    depth: int,
    found: Found,
) -> Whereabouts:
    """Where a new lot starts: where it was put, or where its parent lay; in store if that was."""
    if act.kind in ("split", "graded"):
        origin = _before_act(_parent(lot, act), act, acts_of, packing_of, depth, found)
        crate = container or origin.container
        at = Whereabouts(crate, act.key, ())
        if origin.current and crate:
            stay = replace(origin.current, crate=crate, since=act.key, entered="split")
            return replace(at, stays=(stay,))
        return at
    at = Whereabouts(container, act.key, ())
    packing = packing_of(container, act.key) if container else None
    if act.kind in ("found", "returned", "bought") and packing:
        method, moisture, packed_on = packing
        stay = Stay(container, method, moisture, packed_on, container, "found", act.key)
        return replace(at, stays=(stay,))
    return at


def _close(at: Whereabouts, act: Act, why: str) -> Whereabouts:
    if at.current is None:
        return at
    closed = replace(at.current, until=act.key, ended=why)
    return replace(at, stays=(*at.stays[:-1], closed))


def _open(at: Whereabouts, stay: Stay, act: Act) -> Whereabouts:
    return Whereabouts(stay.crate, act.key, (*at.stays, stay))


def _move(at: Whereabouts, act: Act, container: str) -> Whereabouts:
    current = at.current
    moved = replace(_close(at, act, "moved"), container=container, placed_by=act.key)
    if current is None or not container:
        return moved
    return _open(moved, replace(current, crate=container, since=act.key, entered="moved"), act)


def _reopen(at: Whereabouts, act: Act) -> Whereabouts:
    if at.current is not None or not at.stays or at.stays[-1].ended != "woken":
        return at
    again = replace(at.stays[-1], since=act.key, until=None, ended="", entered="moved")
    return replace(at, stays=(*at.stays, again))
