"""Records that the server makes as a device of its own: for scripts, and for itself."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from tubertrack.apps.accounts.models import Device, Farm
from tubertrack.apps.records.models import Record
from tubertrack.core.sync.envelope import BIGGEST_INT


@dataclass(frozen=True, slots=True)
class Told:
    """What a record of the server's says."""

    kind: str
    body: dict[str, Any]
    occurred_on: str
    v: int = 1


def server_record(
    farm: Farm, server: Device, told: Told, *, author: str, record_id: str, now: int
) -> bytes:
    """The bytes of the server's next record. The caller holds the farm's lock."""
    last = Record.objects.filter(farm=farm, device=server.pk).order_by("-device_seq").first()
    envelope = {
        "id": record_id,
        "farm": str(farm.pk),
        "device": str(server.pk),
        "device_seq": min(last.device_seq + 1, BIGGEST_INT - 1) if last else 1,
        "author": author,
        "kind": told.kind,
        "v": told.v,
        "occurred_on": told.occurred_on,
        "recorded_at": now,
        **({"stamp": _stamp(farm, now)} if told.kind == "field_set" else {}),
        "body": told.body,
    }
    try:
        return json.dumps(envelope, separators=(",", ":"), ensure_ascii=False).encode()
    except UnicodeEncodeError:  # half a character: only an escape can carry it
        return json.dumps(envelope, separators=(",", ":")).encode()


def _stamp(farm: Farm, now: int) -> list[int]:
    """After every edit that the farm has seen, as a phone's clock would be."""
    stamped = Record.objects.filter(farm=farm, stamp_eff_ms__isnull=False)
    last = stamped.order_by("-stamp_eff_ms", "-stamp_eff_counter").first()
    if last is None or last.stamp_eff is None or last.stamp_eff[0] < now:
        return [now, 0]
    return [last.stamp_eff[0], last.stamp_eff[1] + 1]
