"""The kinds of record, their bodies and who may write them; the JSON files beside are the definition."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from functools import cache
from importlib import resources
from typing import Any

from jsonschema import Draft7Validator, ValidationError
from jsonschema.validators import extend

_HERE = resources.files("tubertrack.core.stock")


def _read(name: str) -> Any:
    return json.loads(_HERE.joinpath(name).read_text("utf-8"))


@cache
def ranks() -> dict[str, int]:
    """Rank of each kind: decides between entries of one date and one moment."""
    return {kind: rank for rank, kind in enumerate(_read("order.json"))}


@cache
def least_roles() -> dict[str, str]:
    """The least role that may write each kind."""
    return dict(_read("rights.json")["least_role"])


@cache
def roles() -> tuple[str, ...]:
    """All roles, the weakest first."""
    return tuple(_read("rights.json")["roles"])


def may_write(role: str, kind: str) -> bool:
    """Whether a member with this role may write this kind; unknown roles and kinds may not."""
    least = least_roles().get(kind)
    return least is not None and role in roles() and roles().index(role) >= roles().index(least)


@cache
def schemas() -> dict[tuple[str, int], dict[str, Any]]:
    """JSON Schema (draft 7) of each kind and version, open to unknown fields."""
    found = {}
    for file in _HERE.joinpath("kinds").iterdir():
        if file.name.endswith(".json"):
            kind, version, _ = file.name.split(".")
            found[kind, int(version[1:])] = json.loads(file.read_text("utf-8"))
    return found


def _pattern(_: Any, pattern: str, value: Any, __: Any) -> Iterator[ValidationError]:
    """As ECMA-262 reads it, which JSON Schema follows: "$" is the end, not before a last newline."""
    ends = pattern[:-1] + r"\Z" if pattern.endswith("$") else pattern
    if isinstance(value, str) and not re.search(ends, value):
        yield ValidationError(f"{value!r} does not match {pattern!r}")


_Validator: Any = extend(Draft7Validator, {"pattern": _pattern})


@cache
def _validator(kind: str, v: int) -> Any:
    schema = schemas().get((kind, v))
    return None if schema is None else _Validator(schema)


def is_valid_body(kind: str, v: int, body: Any) -> bool:
    """Whether the body fits the schema of that kind and version; unknown ones never fit."""
    validator = _validator(kind, v)
    return validator is not None and bool(validator.is_valid(body))


def body_errors(kind: str, v: int, body: Any) -> list[tuple[str, str]]:
    """(path, message) for each way in which the body does not fit; [] when it fits."""
    validator = _validator(kind, v)
    if validator is None:
        return [("kind", f"There is no kind {kind!r} in version {v}.")]
    return [
        (".".join(str(step) for step in error.absolute_path) or "body", error.message)
        for error in sorted(
            validator.iter_errors(body), key=lambda e: list(map(str, e.absolute_path))
        )
    ]


def body_failures(kind: str, v: int, body: Any) -> Iterator[ValidationError]:
    """What the schema of a known kind and version finds wrong, as jsonschema tells it."""
    yield from _validator(kind, v).iter_errors(body)


def known_fields(kind: str, v: int, body: Any) -> Any:
    """The body with only the fields that this version knows; the record itself keeps the others."""
    return _known(schemas().get((kind, v), {}), body)


def _known(schema: dict[str, Any], value: Any) -> Any:
    if isinstance(value, dict) and "properties" in schema:
        fields = schema["properties"]
        return {name: _known(fields[name], part) for name, part in value.items() if name in fields}
    if isinstance(value, list) and "items" in schema:
        return [_known(schema["items"], part) for part in value]
    return value
