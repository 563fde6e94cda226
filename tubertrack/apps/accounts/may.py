"""What each role may do at the addresses of this room: may.json, read once."""

from __future__ import annotations

import json
from functools import cache
from importlib import resources


@cache
def _table() -> dict[str, dict[str, str]]:
    told = json.loads(resources.files(__package__).joinpath("may.json").read_text("utf-8"))
    del told["why"]
    return dict(told)


def least_role(name: str) -> dict[str, str]:
    """{method: least role} of the address with this name; KeyError when it has no row."""
    return dict(_table()[name])


def names() -> set[str]:
    """The addresses that have a row."""
    return set(_table())
