"""Records as entries of the feed, and back."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from tubertrack.apps.records.models import Record
from tubertrack.core.stock.entries import Entry
from tubertrack.core.sync.envelope import Envelope, Unreadable, read_envelope
from tubertrack.core.sync.feed import entry_from

_NO_ENVELOPE = frozenset(("unreadable", "bad_envelope"))
ROWS_AT_ONCE = 500


def key_of(raw: bytes) -> str:
    """The name of a record: SHA-256 of its bytes, in hex."""
    return hashlib.sha256(raw).hexdigest()


def entry_of(record: Record) -> Entry:
    """The record as the fold reads it.

    What was set aside as no envelope stays so, even when a later program could read it: every
    phone reads the same. A person may accept it with a kind and a body of its own.
    """
    raw = bytes(record.raw)
    if record.held in _NO_ENVELOPE:
        return entry_from(Unreadable(record.held, ""), record.link())
    return entry_from(read_envelope(raw), record.link())


def entries_after(farm_id: Any, seq: int, *, up_to: int) -> Iterator[Entry]:
    """The entries of a farm's feed numbered above `seq`, in order, read in portions."""
    while seq < up_to:
        rows = Record.objects.filter(farm_id=farm_id, seq__gt=seq, seq__lte=up_to)
        portion = list(rows.order_by("seq")[:ROWS_AT_ONCE])
        if not portion:
            return
        for record in portion:
            yield entry_of(record)
        seq = portion[-1].seq


def civil_date(ms: int, zone: ZoneInfo) -> str:
    """Date in the farm's zone at a moment in ms since 1970 UTC; 9999-12-31 where dates end."""
    try:
        moment = datetime.fromtimestamp(ms / 1000, UTC)
        return moment.astimezone(zone).date().isoformat()
    except (OverflowError, ValueError, OSError):
        return "9999-12-31"


def parsed_columns(envelope: Envelope | Unreadable) -> dict[str, Any]:
    """What the columns of a record hold for looking it up."""
    if isinstance(envelope, Unreadable):
        return {}
    ms, counter = envelope.stamp or (None, None)
    return {
        "record_id": envelope.id,
        "device": envelope.device,
        "device_seq": envelope.device_seq,
        "author": envelope.author,
        "kind": envelope.kind,
        "v": envelope.v,
        "occurred_on": envelope.occurred_on,
        "recorded_at": envelope.recorded_at,
        "stamp_ms": ms,
        "stamp_counter": counter,
    }
