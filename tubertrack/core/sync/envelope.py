"""Reads the bytes of a record; what cannot be read is a value too, never an exception."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from datetime import date
from typing import Any

BIGGEST_INT = 1 << 53
"""Integers up to here are exact in both languages; above it JavaScript rounds, so do we."""

DEEPEST = 100
"""Deeper nesting is unreadable: a fixed bound, so that no parser's own limit decides."""

_UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
_KIND = re.compile(r"[a-z][a-z0-9_]{0,59}")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_BRACKETS = re.compile(rb'"(?:[^"\\]|\\.?)*"?|[\[{]|[\]}]', re.DOTALL)


@dataclass(frozen=True, slots=True)
class Envelope:
    """A record as its device wrote it. `stamp` is None except for field_set."""

    id: str
    farm: str
    device: str
    device_seq: int
    author: str
    kind: str
    v: int
    occurred_on: str
    recorded_at: int
    stamp: tuple[int, int] | None
    body: dict[str, Any] = field(hash=False)


@dataclass(frozen=True, slots=True)
class Unreadable:
    """Bytes that are no envelope: code "unreadable" (no JSON object) or "bad_envelope"."""

    code: str
    why: str


def read_envelope(raw: bytes) -> Envelope | Unreadable:
    """The envelope in these bytes, or why there is none. Never raises, whatever the bytes.

    Of a repeated key the last counts, as in JavaScript. Numbers are read as JavaScript reads
    them: 3.0 is 3, and an integer above 2^53 is the nearest double.
    Source: RFC 8259 (JSON); ECMA-262 JSON.parse for repeated keys and numbers.
    """
    told = _parse(raw)
    if isinstance(told, Unreadable):
        return told
    wrong = [name for name, fits in _FIELDS.items() if name not in told or not fits(told[name])]
    if "kind" not in wrong and told["kind"] == "field_set" and not _is_stamp(told.get("stamp")):
        wrong.append("stamp")
    if wrong:
        return Unreadable("bad_envelope", "missing or of the wrong form: " + ", ".join(wrong))
    stamp = tuple(told["stamp"]) if told["kind"] == "field_set" else None
    return Envelope(**{name: told[name] for name in _FIELDS}, stamp=stamp)


def _parse(raw: bytes) -> dict[str, Any] | Unreadable:
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError:
        return Unreadable("unreadable", "not UTF-8")
    if _is_too_deep(raw):
        return Unreadable("unreadable", f"nested deeper than {DEEPEST}")
    try:
        told = json.loads(
            text, parse_int=_number, parse_float=_number, parse_constant=_refuse_constant
        )
    except ValueError:
        return Unreadable("unreadable", "not JSON")
    if not isinstance(told, dict):
        return Unreadable("unreadable", "not a JSON object")
    return told


def _is_too_deep(raw: bytes) -> bool:
    if raw.count(b"[") + raw.count(b"{") <= DEEPEST:
        return False
    depth = 0
    for token in _BRACKETS.finditer(raw):
        first = raw[token.start()]
        if first in b"[{":
            depth += 1
            if depth > DEEPEST:
                return True
        elif first in b"]}":
            depth -= 1
    return False


def _number(digits: str) -> int | float:
    if len(digits) <= 15 and digits.lstrip("-").isdigit():
        return int(digits)
    value = float(digits)
    return int(value) if value.is_integer() and abs(value) <= BIGGEST_INT else value


def _refuse_constant(name: str) -> float:
    raise ValueError(name)  # NaN and Infinity are no JSON


def _is_uuid(value: Any) -> bool:
    return isinstance(value, str) and _UUID.fullmatch(value) is not None


def is_day(value: Any) -> bool:
    """Whether this is a day of the calendar, written YYYY-MM-DD (years 0001 to 9999)."""
    if not isinstance(value, str) or _DATE.fullmatch(value) is None:
        return False
    try:
        date.fromisoformat(value)
    except ValueError:
        return False
    return True


def _is_int(low: int, high: int) -> Any:
    return lambda value: type(value) is int and low <= value <= high


def _is_stamp(value: Any) -> bool:
    return (
        isinstance(value, list)
        and len(value) == 2
        and _is_int(0, BIGGEST_INT - 1)(value[0])
        and _is_int(0, (1 << 32) - 1)(value[1])
    )


_FIELDS = {
    "id": _is_uuid,
    "farm": _is_uuid,
    "device": _is_uuid,
    "device_seq": _is_int(1, BIGGEST_INT - 1),
    "author": _is_uuid,
    "kind": lambda value: isinstance(value, str) and _KIND.fullmatch(value) is not None,
    "v": _is_int(1, 1_000_000),
    "occurred_on": is_day,
    "recorded_at": _is_int(0, BIGGEST_INT - 1),
    "body": lambda value: isinstance(value, dict),
}
