"""What a phone hands in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import transaction
from rest_framework.exceptions import APIException, ValidationError

from tubertrack.apps.accounts.auth import device_under_lock
from tubertrack.apps.accounts.models import Device
from tubertrack.apps.records.services import append
from tubertrack.apps.sync.selectors import head_of
from tubertrack.core.sync.verdicts import MOST_STORED_BYTES

MOST_RECORDS = 200
MOST_BYTES = MOST_STORED_BYTES


class TooLarge(APIException):
    """More than one push holds: halve it."""

    status_code = 413
    default_code = "too_large"
    default_detail = (
        "A push holds at most 200 records and 1 MiB. Send fewer at once; a single record of more"
        " than 1 MiB cannot be taken."
    )


def push(device: Device, told: Any, *, now: int) -> dict[str, Any]:
    """Verdicts on the records of a push, all stored or none, and the head of the feed.

    `told` is the request: {app, protocol: 1, device, records: [text…]}. ValidationError when it
    is no push at all, TooLarge when it holds too much, SignedOut when the device was revoked while
    it waited for another writer; nothing is stored then. A record is never refused for what it says.
    """
    raws = _raws(device, told)
    with transaction.atomic():
        device = device_under_lock(device)
        verdicts = append(device.farm_id, raws, device=device, now=now)
        seq, chain = head_of(device.farm_id)
    return {
        "verdicts": [
            {
                "sha256": one.sha256,
                "verdict": one.verdict,
                "seq": one.seq,
                **({"code": one.code} if one.code else {}),
            }
            for one in verdicts
        ],
        "head": [seq, chain.hex()],
    }


def _raws(device: Device, told: Any) -> list[bytes]:
    if not isinstance(told, dict) or not isinstance(told.get("records"), list):
        raise ValidationError({"records": ["A push is an object with a list of records."]})
    if told.get("protocol") != 1:
        raise ValidationError({"protocol": ["This address speaks protocol 1."]})
    if told.get("device") != str(device.pk):
        raise ValidationError({"device": ["The token belongs to another device."]})
    records = told["records"]
    if not all(isinstance(record, str) for record in records):
        raise ValidationError(
            {"records": ["Each record is a text, the bytes made when it was saved."]}
        )
    # A lone half of a character becomes bytes that are no UTF-8: kept, set aside as unreadable.
    raws = [record.encode("utf-8", "surrogatepass") for record in records]
    if len(raws) > MOST_RECORDS or sum(map(len, raws)) > MOST_BYTES:
        raise TooLarge
    return raws


MOST_WAITING = 1_000_000_000
LONGEST_APP = 80


def told_of_itself(told: Mapping[str, Any]) -> tuple[int | None, str]:
    """(entries that are only on the device, build of its app), as a push or pull says it.

    None and "" for what it does not say, or says in no way that can be kept: never a reason to
    refuse entries.
    """
    waiting, app = told.get("waiting"), told.get("app")
    if isinstance(waiting, str) and waiting.isascii() and waiting.isdigit() and len(waiting) < 10:
        waiting = int(waiting)
    if type(waiting) is not int or not 0 <= waiting < MOST_WAITING:
        waiting = None
    if not isinstance(app, str):
        return waiting, ""
    plain = app.encode("utf-8", "replace").decode("utf-8").replace("\0", "")
    return waiting, plain.strip()[:LONGEST_APP]
