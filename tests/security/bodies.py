"""Bodies of records of every kind, made from the kinds' own JSON Schemas.

A new kind, or a new field of one, is covered by what uses this without a word said here. Ids come from
small pools, so that records are about the same lots and crates; texts come from whoever asks.
"""

from __future__ import annotations

import hashlib
import random
import uuid
from collections.abc import Callable
from typing import Any

from tubertrack.core.stock.kinds import schemas

Text = Callable[[str], str]
"""The text for the field of that name."""

SORTS = {
    "lot": "lot", "lots[]": "lot", "of": "lot", "into": "lot", "measured": "lot",
    "crate": "crate", "container": "crate", "not_seen[]": "crate",
    "place": "place", "variety": "variety", "method": "method", "round": "round",
    "planting": "planting", "from_planting": "planting", "order": "order", "sale": "sale",
}  # fmt: skip
CODES = ("4K7QM2X1", "9M2X4K7Q", "00000002")
CAUSES = ("rot", "dried_up", "a_cause_of_tomorrow")


def thing(sort: str, n: int = 0) -> str:
    """The id of a thing of a pool, always the same."""
    return str(uuid.UUID(bytes=hashlib.sha256(f"{sort} {n}".encode()).digest()[:16], version=4))


class Bodies:
    """Makes bodies; `targets` are the hashes of what has been written, for entries that mend."""

    def __init__(self, rnd: random.Random, text: Text, *, optional: float = 0.7) -> None:
        self.rnd, self.text, self.optional = rnd, text, optional
        self.targets: list[str] = []

    def body(self, kind: str, version: int = 1) -> dict[str, Any]:
        return dict(self._value(schemas()[kind, version], ""))

    def _value(self, schema: dict[str, Any], name: str) -> Any:
        if "anyOf" in schema and "properties" not in schema:
            return self._value(self.rnd.choice(schema["anyOf"]), name)
        if "const" in schema:
            return schema["const"]
        if "enum" in schema:
            return self.rnd.choice(schema["enum"])
        make = getattr(self, f"_{schema['type']}")
        return make(schema, name)

    def _null(self, schema: dict[str, Any], name: str) -> None:
        return None

    def _boolean(self, schema: dict[str, Any], name: str) -> bool:
        return self.rnd.random() < 0.5

    def _integer(self, schema: dict[str, Any], name: str) -> int:
        low, high = schema.get("minimum", 0), schema.get("maximum", 1000)
        return self.rnd.randint(max(low, -9), min(high, max(low, 0) + 12))

    def _number(self, schema: dict[str, Any], name: str) -> float:
        low, high = schema.get("minimum", 0), schema.get("maximum", 100)
        return round(self.rnd.uniform(low, min(high, low + 40)), 1)

    def _string(self, schema: dict[str, Any], name: str) -> str:
        pattern = schema.get("pattern", "")
        if not pattern:
            return self.text(name)[: schema.get("maxLength", 400)]
        if "{8}-" in pattern:
            return thing(SORTS.get(name, "thing"), self.rnd.randrange(3))
        if "{64}" in pattern:
            return self.rnd.choice(self.targets or ["0" * 64])
        if "HJKMNP" in pattern:
            return self.rnd.choice(CODES)
        if pattern.startswith("^[0-9]{4}-"):
            return f"2024-{self.rnd.randint(1, 12):02}-{self.rnd.randint(1, 28):02}"
        assert pattern == "^[a-z][a-z0-9_]{0,39}$", f"{name}: no maker for {pattern}"
        return self.rnd.choice(("name", "number", "notes", "site", "a_field_of_tomorrow"))

    def _array(self, schema: dict[str, Any], name: str) -> list[Any]:
        least = schema.get("minItems", 0)
        count = max(least, min(schema.get("maxItems", 2), self.rnd.randint(0, 2)))
        return [self._value(schema["items"], f"{name}[]") for _ in range(count)]

    def _object(self, schema: dict[str, Any], name: str) -> dict[str, Any]:
        needed = set(schema.get("required", ()))
        if "anyOf" in schema:  # at least one of these groups of fields
            needed |= set(self.rnd.choice(schema["anyOf"])["required"])
        made = {
            each: self._value(below, each)
            for each, below in schema.get("properties", {}).items()
            if each in needed or self.rnd.random() < self.optional
        }
        if isinstance(schema.get("additionalProperties"), dict):
            made[self.rnd.choice(CAUSES)] = self._value(schema["additionalProperties"], name)
        return made


def kinds() -> list[tuple[str, int]]:
    return sorted(schemas())
