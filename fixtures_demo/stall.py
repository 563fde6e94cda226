"""The demo farm's buyers, sales and price list, and somebody who only looks on.

What stands beside the log is told apart from it, so that the story's bytes stay as they are.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import cycle
from typing import Any

from fixtures_demo.tarrowby import Story

CURRENCY = "GBP"
ONLOOKER = "Elspeth Loom"
"""Keeps the accounts and writes nothing down: a viewer."""

BUYERS = (
    ("Kelder Cross Allotments", "the green shed, row 9", "Ask for forked labels."),
    ("Hestia Marl", "hestia@marl.example", ""),
    ("The Tuesday Barrow", "at the gate before ten", "Pays in coins."),
)
PER_TUBER = 350
"""Pence, for a variety without a line of its own."""

OWN_PRICES = {"Queen of Osselby": 750, "Dunmallow Giantess": 800, "Vesper Thimblewick": 520}
PER_CLUMP = 1200


@dataclass(frozen=True)
class Buyer:
    """Somebody who buys."""

    id: str
    name: str
    contact: str
    note: str


@dataclass(frozen=True)
class Sale:
    """What the entries of a sale do not say."""

    id: str
    buyer: str
    price_minor: int | None
    note: str


@dataclass(frozen=True)
class Price:
    """A line of the list, in pence; `variety` None: any without a line."""

    variety: str | None
    unit: str
    price_minor: int


@dataclass(frozen=True)
class Stall:
    """All of it, in one currency."""

    onlooker: str
    buyers: tuple[Buyer, ...]
    sales: tuple[Sale, ...]
    prices: tuple[Price, ...]


def stall_of(story: Story) -> Stall:
    """What belongs beside this story: one sale for each that its entries name, and the promise."""
    names = {row: name for name, row in story.varieties.items()}
    buyers = tuple(Buyer(_id(story, name), name, *rest) for name, *rest in BUYERS)
    turns = cycle(buyers)
    variety_of = _varieties(story)
    sales = [
        Sale(
            body["sale"],
            next(turns).id,
            body["count"] * OWN_PRICES.get(names.get(variety_of[body["lot"]], ""), PER_TUBER),
            "",
        )
        for kind, body in _bodies(story)
        if kind == "gone_out" and "sale" in body
    ]
    sales += [
        Sale(body["order"], buyers[1].id, None, "Collects in April.")
        for kind, body in _bodies(story)
        if kind == "promised"
    ]
    prices = [
        Price(None, "tuber", PER_TUBER),
        Price(None, "clump", PER_CLUMP),
        *(Price(story.varieties[name], "tuber", pence) for name, pence in OWN_PRICES.items()),
    ]
    return Stall(_id(story, ONLOOKER), buyers, tuple(sales), tuple(prices))


def _id(story: Story, name: str) -> str:
    return str(uuid.uuid5(uuid.UUID(story.farm), name))


def _bodies(story: Story) -> Iterator[tuple[str, dict[str, Any]]]:
    for written in story.scribe.done:
        told = json.loads(written.raw)
        yield told["kind"], told["body"]


def _varieties(story: Story) -> dict[str, str]:
    """Variety by lot, handed on from lot to lot."""
    found: dict[str, str] = {}
    for _, body in _bodies(story):
        sources = body.get("from") or []
        source = sources[0].get("lot", "") if sources else body.get("lot", "")
        variety = body.get("variety") or found.get(source, "")
        for line in [*(body.get("into") or []), *(body.get("lots") or []), body]:
            if "lot" in line and variety:
                found.setdefault(line["lot"], line.get("variety") or variety)
    return found
