"""After an update that understands more: what an older server set aside counts now."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from tubertrack.apps.accounts.models import Device, Farm
from tubertrack.apps.records.models import HeldEntry, Record
from tubertrack.apps.records.selectors import today
from tubertrack.apps.records.server_records import Told, server_record
from tubertrack.apps.records.services import append, new_id
from tubertrack.core.sync.envelope import read_envelope
from tubertrack.core.sync.verdicts import verdict

NOT_KNOWN_THEN = ("unknown_kind", "newer_version")


@transaction.atomic
def reclassify(farm_id: Any, *, now: int) -> int:
    """How many entries count from now on that were set aside because their kind was not known.

    The server says so by a record of its own, so that phones follow. What was set aside for
    another reason waits for a person.
    """
    farm = Farm.objects.select_for_update().get(pk=farm_id)
    waiting = HeldEntry.objects.filter(farm=farm, code__in=NOT_KNOWN_THEN)
    shas = list(waiting.values_list("uid", flat=True))
    server = Device.objects.get(farm=farm, sort=Device.Sort.SERVER)
    known = [
        record.sha256
        for record in Record.objects.filter(farm=farm, sha256__in=shas).order_by("seq")
        if not _verdict_now(record)
    ]
    for sha in known:
        told = Told("record_reclassified", {"target": sha}, today(farm, now=now))
        raw = server_record(
            farm, server, told, author=str(server.pk), record_id=new_id(now), now=now
        )
        append(farm.pk, [raw], device=server, now=now)
    return len(known)


def _verdict_now(record: Record) -> str:
    raw = bytes(record.raw)
    return verdict(
        read_envelope(raw),
        size=len(raw),
        role=record.role,
        farm_id=str(record.farm_id),
        quarantined=False,
    )
