"""What an entry states about lots besides amounts: where they come from, what they are, where they lie."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from tubertrack.core.stock.entries import Act

Line = dict[str, Any]
_UNIT_OF_KIND = {
    "dug": "clump",
    "divided": "tuber",
    "struck": "cutting",
    "rooted": "pot_plant",
    "potted": "pot_plant",
}
_INTO = {
    "divided": "into",
    "graded": "into",
    "split": "into",
    "struck": "into",
    "rooted": "into",
    "potted": "into",
    "packed": "lots",
    "dug": "lots",
}


@dataclass(frozen=True, slots=True)
class Birth:
    """A lot comes into being: what the entry itself says of it, and the lots it comes from."""

    lot: str
    parents: tuple[str, ...]
    planting: str
    variety: str
    unit: str
    eyes: str
    grade: str
    about: bool
    container: str
    code: str


@dataclass(frozen=True, slots=True)
class Touched:
    """Everything whose page an entry may change, by the kind of thing."""

    lots: frozenset[str]
    crates: frozenset[str]
    plantings: frozenset[str]


def _birth(act: Act, line: Line, parents: tuple[str, ...], planting: str = "") -> Birth:
    body = act.body
    return Birth(
        lot=line["lot"],
        parents=tuple(p for p in parents if p != line["lot"]),
        planting=planting,
        variety=str(
            line.get("variety") or (body.get("variety") if act.kind == "dug" else "") or ""
        ),
        unit=line.get("unit", _UNIT_OF_KIND.get(act.kind, "")),
        eyes=line.get("eyes", ""),
        grade=line.get("grade", ""),
        about=bool(line.get("about", False)),
        container=body["crate"] if act.kind == "packed" else _container(body, line),
        code=line.get("code", ""),
    )


def _container(body: Line, line: Line) -> str:
    return str(line.get("container") or body.get("container") or "")


def births(act: Act) -> list[Birth]:
    """The lots that an entry brings into being (or adds to), in the order it names them."""
    body = act.body
    if act.kind in _INTO:
        parents = tuple(line["lot"] for line in body.get("from", []))
        planting = body.get("planting", "") if act.kind == "dug" else ""
        found = [_birth(act, line, parents, planting) for line in body[_INTO[act.kind]]]
        return [birth for birth in found if birth.lot not in parents]
    if act.kind in ("found", "bought"):
        return [_birth(act, body, ())]
    if act.kind == "returned":
        return [_birth(act, body, (body["of"],) if "of" in body else ())]
    return []


def placements(act: Act) -> list[tuple[str, str]]:
    """(lot, container) for each lot that the entry puts somewhere; "" takes it out."""
    body = act.body
    if act.kind == "moved" and "lot" in body and "container" in body:
        return [(body["lot"], body["container"])]
    if act.kind == "packed":
        return [(line["lot"], body["crate"]) for line in body["lots"]]
    if act.kind == "emptied":
        return [(lot, "") for lot in body.get("lots", [])]
    return [(birth.lot, birth.container) for birth in births(act) if birth.container]


def codes(act: Act) -> list[tuple[str, str, str]]:
    """(code, sort of thing, id) for each code that the entry gives to a thing."""
    body = act.body
    if act.kind == "labelled":
        return [(body["code"], body["target"], body["id"])]
    return [(birth.code, "lot", birth.lot) for birth in births(act) if birth.code]


def _lines(act: Act) -> Iterator[str]:
    body = act.body
    for name in ("from", "into", "lines"):
        for line in body.get(name, []) if isinstance(body.get(name), list) else []:
            yield line["lot"]
    for line in body.get("lots", []):
        yield line if isinstance(line, str) else line["lot"]


def touched(act: Act) -> Touched:
    """The lots, crates and plantings that an entry names."""
    body, lots, crates = act.body, set(_lines(act)), set()
    for name in ("lot", "of"):
        if name in body:
            lots.add(body[name])
    if act.kind in ("flagged", "labelled") and body["target"] == "lot":
        lots.add(body["id"])
    for name in ("crate", "container"):
        if name in body:
            crates.add(body[name])
    crates.update(container for _, container in placements(act) if container)
    if act.kind in ("flagged", "labelled") and body["target"] == "crate":
        crates.add(body["id"])
    plantings = {body[name] for name in ("planting", "from_planting") if name in body}
    if act.kind in ("flagged", "labelled") and body["target"] == "planting":
        plantings.add(body["id"])
    return Touched(frozenset(lots), frozenset(crates), frozenset(plantings))
