"""A record in a farm's feed as the fold reads it."""

from __future__ import annotations

from tubertrack.core.stock.entries import Entry
from tubertrack.core.sync.chain import Link
from tubertrack.core.sync.envelope import Envelope, Unreadable


def entry_from(envelope: Envelope | Unreadable, link: Link) -> Entry:
    """The entry of a record with what the server said of it.

    A record that cannot be read has an empty kind, id, device and author, and the dates and time
    of its receipt, so that it has a place in the order and changes nothing.
    """
    if isinstance(envelope, Unreadable):
        return Entry(
            sha256=link.sha256,
            seq=link.seq,
            id="",
            device="",
            device_seq=0,
            author="",
            kind="",
            v=0,
            occurred_on=link.received_on,
            recorded_at=link.received_at,
            body={},
            held=link.held,
            received_at=link.received_at,
            received_on=link.received_on,
            recorded_on=link.recorded_on,
            stamp=None,
            role=link.role,
        )
    return Entry(
        sha256=link.sha256,
        seq=link.seq,
        id=envelope.id,
        device=envelope.device,
        device_seq=envelope.device_seq,
        author=envelope.author,
        kind=envelope.kind,
        v=envelope.v,
        occurred_on=envelope.occurred_on,
        recorded_at=envelope.recorded_at,
        body=envelope.body,
        held=link.held,
        received_at=link.received_at,
        received_on=link.received_on,
        recorded_on=link.recorded_on,
        stamp=link.stamp,
        role=link.role,
    )
