"""Entries of the feed as JSON: the record's own text, and what the server says of it."""

from __future__ import annotations

import base64
from typing import Any

from tubertrack.apps.records.models import Record


def raw_as_json(raw: bytes) -> dict[str, str]:
    """{"raw": text}, or {"raw_b64": base64} where the bytes are no UTF-8."""
    try:
        return {"raw": raw.decode("utf-8")}
    except UnicodeDecodeError:
        return {"raw_b64": base64.b64encode(raw).decode("ascii")}


def raw_of(line: dict[str, Any]) -> bytes:
    """The bytes of a line made by raw_as_json. KeyError or ValueError where there are none."""
    if "raw_b64" in line:
        return base64.b64decode(line["raw_b64"], validate=True)
    return str(line["raw"]).encode("utf-8", "surrogatepass")


def server_words(record: Record) -> dict[str, Any]:
    """What the server says of a record, and the record itself does not hold."""
    told: dict[str, Any] = {
        "received_at": record.received_at,
        "received_on": record.received_on,
        "recorded_on": record.recorded_on,
        "role": record.role,
    }
    if record.held:
        told["held"] = record.held
    if record.stamp_eff is not None:
        told["stamp_eff"] = list(record.stamp_eff)
    if record.relayed_by_id is not None:
        told["relayed_by"] = str(record.relayed_by_id)
    return told


def entry_as_json(record: Record) -> dict[str, Any]:
    """An entry of the feed as it travels: the record's own text, and what the server says of it."""
    return {
        "seq": record.seq,
        "chain": bytes(record.chain).hex(),
        **raw_as_json(bytes(record.raw)),
        **server_words(record),
    }
