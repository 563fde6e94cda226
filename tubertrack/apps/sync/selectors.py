"""What a phone may read of its farm's feed."""

from __future__ import annotations

import re
from typing import Any

from rest_framework.exceptions import APIException, ValidationError

from tubertrack.apps.accounts.models import Farm
from tubertrack.apps.records.feed import entry_as_json
from tubertrack.apps.records.models import Record
from tubertrack.core.sync.chain import START

MOST_ENTRIES = 500
MOST_BYTES = 1024 * 1024
"""A page ends at this many entries or bytes of records, whichever comes first."""

_CURSOR = re.compile(r"(0|[1-9][0-9]{0,17})(?::([0-9a-f]{32}))?")


class HistoryChanged(APIException):
    """The cursor belongs to another history than the server's: start again from 0."""

    status_code = 409
    default_code = "history_changed"
    default_detail = (
        "The server's records are not the ones this device has seen, perhaps after a restore."
        " Nothing is lost: the device sends all it holds and fetches everything anew."
    )


def read_cursor(text: str) -> tuple[int, str]:
    """(seq, chain in hex) of "seq:chain"; ValidationError for anything else. "0" is the start."""
    found = _CURSOR.fullmatch(text)
    if found is None or (found[2] is None and found[1] != "0"):
        raise ValidationError({"after": ["Write it as number:chain, or 0 for the start."]})
    return int(found[1]), found[2] or START.hex()


def head_of(farm_id: Any) -> tuple[int, bytes]:
    """(last number, chain there) of the farm's feed now."""
    seq, chain = Farm.objects.values_list("last_seq", "head_chain").get(pk=farm_id)
    return seq, bytes(chain)


def pull(farm_id: Any, after: tuple[int, str], *, limit: int = MOST_ENTRIES) -> dict[str, Any]:
    """The entries after a cursor, in order, without a hole, and the head.

    Raises HistoryChanged when the cursor lies beyond the head or its chain is another one.
    """
    seq, chain = after
    head_seq, head_chain = head_of(farm_id)
    if _chain_at(farm_id, seq, head_seq, head_chain) != chain:
        raise HistoryChanged
    last = _last_of_page(farm_id, seq, head_seq, min(limit, MOST_ENTRIES))
    page = Record.objects.filter(farm_id=farm_id, seq__gt=seq, seq__lte=last).order_by("seq")
    return {
        "entries": [entry_as_json(record) for record in page],
        "head": [head_seq, head_chain.hex()],
    }


def _chain_at(farm_id: Any, seq: int, head_seq: int, head_chain: bytes) -> str | None:
    if seq == 0:
        return START.hex()
    if seq == head_seq:
        return head_chain.hex()
    found = Record.objects.filter(farm_id=farm_id, seq=seq, seq__lte=head_seq)
    chain = found.values_list("chain", flat=True).first()
    return None if chain is None else bytes(chain).hex()


def _last_of_page(farm_id: Any, seq: int, head_seq: int, limit: int) -> int:
    """The number of the page's last entry: at least one entry, however large."""
    sizes = Record.objects.filter(farm_id=farm_id, seq__gt=seq, seq__lte=head_seq)
    room, last = MOST_BYTES, seq
    for one, size in sizes.order_by("seq").values_list("seq", "size")[:limit]:
        if size > room and last > seq:
            break
        room -= size
        last = one
    return last
