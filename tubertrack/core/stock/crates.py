"""A crate as its own entries tell it: where it stands, how it was packed, when it was looked at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from tubertrack.core.stock.entries import Act, OrderKey


@dataclass(frozen=True, slots=True)
class Standing:
    """A crate stands somewhere from a key on."""

    since: OrderKey
    on: str
    place: str
    position: str


def standings(crate: str, acts: Sequence[Act]) -> list[Standing]:
    """Every change of a crate's place or position, in order."""
    found: list[Standing] = []
    place = position = ""
    for act in acts:
        if act.kind in ("packed", "moved") and act.body.get("crate") == crate:
            new_place = act.body.get("place", place)
            new_position = act.body.get("position", position if new_place == place else "")
            if (new_place, new_position) != (place, position):
                place, position = new_place, new_position
                found.append(Standing(act.key, act.on, place, position))
    return found


def packing_before(crate: str, acts: Sequence[Act], key: OrderKey) -> tuple[str, str, str] | None:
    """(method, moisture, date) of the crate's last packing before a key."""
    last = None
    for act in acts:
        if act.key >= key:
            break
        if act.kind == "packed" and act.body["crate"] == crate:
            last = (act.body.get("method", ""), act.body.get("moisture", ""), act.on)
    return last


def crate_page(
    crate: str, acts: Sequence[Act], *, code: str, lots: Sequence[str]
) -> dict[str, Any]:
    """The crate as it stands after all its entries. Dates "" where nothing happened yet."""
    page: dict[str, Any] = {
        "place": "",
        "position": "",
        "since": "",
        "method": "",
        "moisture": "",
        "mass_g": -1,
        "packed_on": "",
        "packed_by": "",
        "lots": sorted(lots),
        "looked_on": "",
        "look": "",
        "looked_by": "",
        "look_again_on": "",
        "code": code,
        "emptied_on": "",
    }
    for act in acts:
        _READERS.get(act.kind, _nothing)(page, act)
    for standing in standings(crate, acts):
        page |= {"place": standing.place, "position": standing.position, "since": standing.on}
    return page


def _nothing(page: dict[str, Any], act: Act) -> None:
    pass


def _read_packed(page: dict[str, Any], act: Act) -> None:
    body = act.body
    again = page["emptied_on"] != "" or page["packed_on"] == ""
    page |= {
        "method": body.get("method", "" if again else page["method"]),
        "moisture": body.get("moisture", "" if again else page["moisture"]),
        "packed_on": act.on,
        "packed_by": act.sha256,
        "emptied_on": "",
    }
    page["mass_g"] = body.get("mass_g", -1 if again else page["mass_g"])
    if again:
        page |= {"looked_on": "", "look": "", "looked_by": "", "look_again_on": ""}


def _read_checked(page: dict[str, Any], act: Act) -> None:
    body = act.body
    page |= {"looked_on": act.on, "look": body["look"], "looked_by": act.sha256}
    page["look_again_on"] = body.get("look_again_on", "")
    page["mass_g"] = body.get("mass_g", page["mass_g"])


def _read_emptied(page: dict[str, Any], act: Act) -> None:
    page["emptied_on"] = act.on


_READERS = {"packed": _read_packed, "checked": _read_checked, "emptied": _read_emptied}
