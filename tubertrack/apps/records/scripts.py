"""Records that scripts write: refused with a sentence when they do not fit, never half kept."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from rest_framework.exceptions import APIException

from tubertrack.apps.accounts.auth import device_under_lock
from tubertrack.apps.accounts.models import Device
from tubertrack.apps.records.log import entry_of, key_of
from tubertrack.apps.records.models import Record
from tubertrack.apps.records.selectors import today
from tubertrack.apps.records.sentences import body_sentences
from tubertrack.apps.records.server_records import Told, server_record
from tubertrack.apps.records.services import append
from tubertrack.core.stock import kinds
from tubertrack.core.sync.verdicts import MOST_BYTES


class BadInput(APIException):
    """The record cannot be taken as it is; nothing was stored."""

    status_code = 400

    def __init__(self, code: str, message: str, **fields: list[str]) -> None:
        super().__init__(message, code)
        self.fields = fields


class KeyUsed(APIException):
    """The client key stands for another record already."""

    status_code = 409
    default_code = "client_key_used"
    default_detail = (
        "This client_key was used for another record. Give every record a key of its own."
    )


class KindNotPermitted(APIException):
    """The member's role is too small for this kind."""

    status_code = 403
    default_code = "not_permitted"


@dataclass(frozen=True, slots=True)
class Submission:
    """What a script asks to be written down."""

    kind: str
    v: int
    occurred_on: str | None
    body: dict[str, Any]
    client_key: str


@transaction.atomic
def submit(device: Device, told: Submission, *, now: int) -> tuple[dict[str, Any], bool]:
    """(answer, fresh): the record of this client key, written by the server as its own device.

    The same key with the same words gives the same answer and writes nothing. Raises BadInput,
    KindNotPermitted or KeyUsed; nothing is stored then.
    """
    device = device_under_lock(device)
    farm = device.farm
    record_id = uuid.uuid5(farm.pk, f"{device.member_id}:{told.client_key}")
    server = Device.objects.get(farm=farm, sort=Device.Sort.SERVER)
    known = Record.objects.filter(farm=farm, record_id=record_id, device=server.pk).first()
    if known is not None:
        return _same(known, told), False
    occurred_on = told.occurred_on or today(farm, now=now)
    _check(device, told, occurred_on, latest=today(farm, now=now))
    raw = server_record(
        farm,
        server,
        Told(told.kind, told.body, occurred_on, v=told.v),
        author=str(device.member_id),
        record_id=str(record_id),
        now=now,
    )
    if len(raw) > MOST_BYTES:
        raise BadInput(
            "too_large", "This is larger than 64 KiB. Shorten the note.", body=["Shorten it."]
        )
    [verdict] = append(farm.pk, [raw], device=device, now=now)
    if verdict.code:
        raise BadInput(verdict.code, "This record cannot be read. Check its numbers and texts.")
    return _answer(Record.objects.get(farm=farm, sha256=key_of(raw))), True


def _check(device: Device, told: Submission, occurred_on: str, *, latest: str) -> None:
    versions = [v for kind, v in kinds.schemas() if kind == told.kind]
    if told.v not in versions:
        known = "There is no such kind of record." if not versions else "Only v 1 is known."
        raise BadInput("unknown_kind", f"{told.kind}: {known}", kind=[known])
    if not kinds.may_write(device.role, told.kind):
        least = kinds.least_roles()[told.kind]
        raise KindNotPermitted(f"A {device.role} may not write {told.kind}; a {least} may.")
    if occurred_on > latest:
        sentence = f"{occurred_on} has not come yet; today is {latest}."
        raise BadInput("future_date", sentence, occurred_on=[sentence])
    wrong = body_sentences(told.kind, told.v, told.body)
    if wrong:
        name, sentences = next(iter(wrong.items()))
        raise BadInput("bad_body", f"{name}: {sentences[0]}", **wrong)


def _same(known: Record, told: Submission) -> dict[str, Any]:
    entry = entry_of(known)
    alike = (entry.kind, entry.v, entry.body) == (told.kind, told.v, told.body)
    if not alike or told.occurred_on not in (None, entry.occurred_on):
        raise KeyUsed
    return _answer(known)


def _answer(record: Record) -> dict[str, Any]:
    return {
        "sha256": record.sha256,
        "seq": record.seq,
        "id": record.record_id,
        "kind": record.kind,
        "occurred_on": record.occurred_on,
    }
