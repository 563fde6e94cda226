"""What is wrong with a record's body, in sentences for the person who made it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from jsonschema import ValidationError

from tubertrack.core.codes.label_codes import is_valid_code, show_code
from tubertrack.core.stock import kinds
from tubertrack.core.sync.envelope import is_day

COLDEST_C, WARMEST_C = -40, 60
"""No store is colder or warmer; readings beyond are a slip or degrees Fahrenheit. Our bound."""

_TYPES = {
    "integer": "a whole number",
    "number": "a number",
    "string": "a text",
    "boolean": "true or false",
    "array": "a list",
    "object": "an object",
}
_PATTERNS = {
    "{12}$": "This must be an id: a UUID in small letters.",
    "{64}$": "This must be the sha256 of a record: 64 characters 0-9 and a-f.",
    "HJKMN": "This must be a code: 8 capitals and figures, such as 4K7QM2X1.",
    "3[01]": "This must be a day, such as 2026-11-03.",
}


def body_sentences(kind: str, v: int, body: Any) -> dict[str, list[str]]:
    """Sentences by the dotted name of the field they are about; {} when the body fits.

    Stricter than the schema, which must take whatever a phone has saved: a day must be one of the
    calendar, a code must carry its check character, a temperature must be one of a store.
    """
    found: dict[str, list[str]] = defaultdict(list)
    for error in kinds.body_failures(kind, v, body):
        for name, sentence in _told(error):
            if sentence not in found[name]:
                found[name].append(sentence)
    if not found:
        for name, sentence in _unlikely(body, ""):
            found[name].append(sentence)
    return dict(found)


def _told(error: ValidationError) -> Iterator[tuple[str, str]]:
    path = [str(step) for step in error.absolute_path]
    if error.validator == "required":
        missing = [name for name in error.validator_value if name not in error.instance]
        for name in missing:
            yield ".".join(("body", *path, name)), "This is missing."
    elif error.validator == "anyOf" and isinstance(error.instance, dict):
        choices = [" and ".join(one.get("required", [])) for one in error.validator_value]
        yield ".".join(("body", *path)), f"Give {' or '.join(filter(None, choices))}."
    else:
        yield ".".join(("body", *path)), _sentence(error)


def _sentence(error: ValidationError) -> str:
    limit = error.validator_value
    sentences = {
        "minimum": f"This must be {limit} or more.",
        "maximum": f"This must be {limit} or less.",
        "maxLength": f"This is longer than {limit} characters. Shorten it.",
        "minItems": f"At least {limit} belongs here.",
        "maxItems": f"At most {limit} fit into one record.",
        "maxProperties": f"At most {limit} fit into one record.",
        "not": "This is set by packing, moving or labelling, not as a field.",
        "propertyNames": "A cause or sign is written in small letters, such as dried_up.",
    }
    if error.validator == "type":
        return f"This must be {_TYPES.get(str(limit), 'of another type')}."
    if error.validator == "enum" and error.parent and error.parent.validator == "not":
        return sentences["not"]
    if error.validator == "enum":
        return f"This must be one of: {', '.join(map(str, limit))}."
    if error.validator == "pattern":
        return next(
            (words for mark, words in _PATTERNS.items() if mark in limit),
            "This is written in small letters, such as dried_up.",
        )
    return sentences.get(str(error.validator), "This does not fit.")


def _unlikely(value: Any, name: str) -> Iterator[tuple[str, str]]:
    here = name or "body"
    if isinstance(value, dict):
        for key, part in value.items():
            yield from _unlikely_field(str(key), part, f"{here}.{key}")
            yield from _unlikely(part, f"{here}.{key}")
    elif isinstance(value, list):
        for place, part in enumerate(value):
            yield from _unlikely(part, f"{here}.{place}")


def _unlikely_field(key: str, value: Any, name: str) -> Iterator[tuple[str, str]]:
    if key.endswith("temp_c") and isinstance(value, int | float):
        if not COLDEST_C <= value <= WARMEST_C:
            yield name, f"{value} °C is no temperature of a store. Was it in °F?"
    elif key == "rh_pct" and isinstance(value, int | float):
        if not 0 <= value <= 100:
            yield name, f"{value} % is no humidity: it lies between 0 and 100."
    elif key == "code" and isinstance(value, str) and not is_valid_code(value):
        yield (
            name,
            f"{show_code(value)} is no code: its last character does not fit. Read it again.",
        )
    elif key.endswith("_on") and isinstance(value, str) and not is_day(value):
        yield name, f"{value} is no day of the calendar."
