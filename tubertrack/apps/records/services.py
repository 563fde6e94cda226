"""The one way into a farm's record log."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from tubertrack.apps.accounts.erasure import forget_farm
from tubertrack.apps.accounts.models import Device, Farm, Member
from tubertrack.apps.records import projections, warm
from tubertrack.apps.records.log import civil_date, entry_of, key_of, parsed_columns
from tubertrack.apps.records.models import Erasure, Record
from tubertrack.core.sync.chain import next_chain
from tubertrack.core.sync.envelope import Envelope, Unreadable, read_envelope
from tubertrack.core.sync.stamps import effective_stamp
from tubertrack.core.sync.verdicts import lesser_role, verdict


@dataclass(frozen=True, slots=True)
class Verdict:
    """What became of one record: "stored", "held" (stored, set aside) or "duplicate"."""

    sha256: str
    verdict: str
    seq: int
    code: str = ""


@dataclass(slots=True)
class Receipt:
    """One append: who pushes, when, and the people and devices of the farm at that moment."""

    farm: Farm
    device: Device
    now: int
    zone: ZoneInfo = field(init=False)
    roles: dict[str, str] = field(init=False)

    def __post_init__(self) -> None:
        self.zone = ZoneInfo(self.farm.time_zone)
        members = Member.objects.filter(farm=self.farm, active=True)
        self.roles = {str(pk): role for pk, role in members.values_list("pk", "role")}
        servers = Device.objects.filter(farm=self.farm, sort=Device.Sort.SERVER)
        self.roles |= {str(pk): "server" for pk in servers.values_list("pk", flat=True)}

    def role_of(self, envelope: Envelope | Unreadable) -> str:
        author = "" if isinstance(envelope, Unreadable) else self.roles.get(envelope.author, "")
        return lesser_role(author, self.device.role)


def append(farm_id: Any, items: Iterable[bytes], *, device: Device, now: int) -> list[Verdict]:
    """Puts records into the farm's log, all or none; the only writer of stock there is.

    `items` are the bytes of envelopes, `device` is who pushes them, `now` ms UTC. Every record is
    stored, whatever its verdict, and counts or is set aside; one that is there already is left
    as it is. Log and projections change in one transaction.
    """
    if str(device.farm_id) != str(farm_id):
        raise ValueError("a device writes to its own farm only")
    with transaction.atomic():
        # One writer per farm: numbers must come in the order of commits, or a phone's cursor
        # skips rows. So this is the first statement.
        farm = Farm.objects.select_for_update().get(pk=farm_id)
        raws = list(items)
        receipt = Receipt(farm, device, now)
        shas = [key_of(raw) for raw in raws]
        known = _known(farm, shas)
        fresh: list[Record] = []
        verdicts = []
        for sha, raw in zip(shas, raws, strict=True):
            if sha in known:
                verdicts.append(Verdict(sha, "duplicate", *known[sha]))
                continue
            record = _received(receipt, sha, raw)
            fresh.append(record)
            known[sha] = record.seq, record.held
            verdicts.append(
                Verdict(sha, "held" if record.held else "stored", record.seq, record.held)
            )
        keep(farm, fresh)
    return verdicts


def _known(farm: Farm, shas: Sequence[str]) -> dict[str, tuple[int, str]]:
    found: dict[str, tuple[int, str]] = {}
    for start in range(0, len(shas), 500):
        rows = Record.objects.filter(farm=farm, sha256__in=shas[start : start + 500])
        found |= {sha: (seq, held) for sha, seq, held in rows.values_list("sha256", "seq", "held")}
    return found


def _received(receipt: Receipt, sha: str, raw: bytes) -> Record:
    """The record with all that the server says of it, next in the farm's numbers and chain."""
    farm, now = receipt.farm, receipt.now
    envelope = read_envelope(raw)
    role = receipt.role_of(envelope)
    held = verdict(
        envelope,
        size=len(raw),
        role=role,
        farm_id=str(farm.pk),
        quarantined=receipt.device.quarantined,
    )
    received_on = recorded_on = civil_date(now, receipt.zone)
    stamp = relayed_by = None
    if isinstance(envelope, Envelope):
        recorded_on = civil_date(min(envelope.recorded_at, now), receipt.zone)
        stamp = effective_stamp(envelope.stamp, now)
        relayed_by = None if envelope.device == str(receipt.device.pk) else receipt.device
    return numbered(
        farm,
        Record(
            farm=farm,
            sha256=sha,
            raw=raw,
            size=len(raw),
            received_at=now,
            received_on=received_on,
            recorded_on=recorded_on,
            stamp_eff_ms=stamp and stamp[0],
            stamp_eff_counter=stamp and stamp[1],
            held=held,
            role=role,
            relayed_by=relayed_by,
            **parsed_columns(envelope),
        ),
    )


def numbered(farm: Farm, record: Record) -> Record:
    """The record as the next of the farm's feed; the farm (locked by the caller) moves on."""
    farm.last_seq += 1
    record.seq = farm.last_seq
    record.chain = farm.head_chain = next_chain(bytes(farm.head_chain), record.link())
    return record


def keep(farm: Farm, fresh: list[Record]) -> None:
    """Writes records that are numbered already, and what changes by them."""
    if not fresh:
        return
    before = Farm.objects.get(pk=farm.pk)
    kept = warm.take(before)
    Record.objects.bulk_create(fresh, batch_size=200)
    farm.save(update_fields=["last_seq", "head_chain"])
    entries = [entry_of(record) for record in fresh]
    projections.write_changed(farm, kept.fold, kept.fold.apply(entries), entries)
    kept.seq, kept.chain = farm.last_seq, bytes(farm.head_chain)
    warm.give_back(farm.pk, kept)


@transaction.atomic
def rebuild(farm_id: Any) -> list[str]:
    """Works every projected row of a farm out anew; returns the tables in which one differed."""
    farm = Farm.objects.select_for_update().get(pk=farm_id)
    warm.forget(farm.pk)
    kept = warm.take(farm)
    differing = projections.rewrite(farm, kept.fold)
    warm.give_back(farm.pk, kept)
    return differing


@transaction.atomic
def erase_farm(farm_id: Any) -> None:
    """Takes a farm away with all its records, people and devices: the only way to delete records."""
    farm = Farm.objects.select_for_update().get(pk=farm_id)
    Erasure.objects.create(farm_id=farm.pk)
    Record.objects.filter(farm=farm).delete()
    Erasure.objects.filter(farm_id=farm.pk).delete()
    warm.forget(farm.pk)
    forget_farm(farm)
    farm.delete()


def new_id(now: int) -> str:
    """A UUID of version 7 (RFC 9562, section 5.7) at `now` ms UTC."""
    value = (now << 80) | (7 << 76) | (secrets.randbits(12) << 64)
    value |= (0b10 << 62) | secrets.randbits(62)
    hexed = f"{value:032x}"
    return "-".join((hexed[:8], hexed[8:12], hexed[12:16], hexed[16:20], hexed[20:]))
