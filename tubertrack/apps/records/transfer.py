"""A farm's log as JSON lines, and back: for safe keeping, a move, or another program."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any

from django.db import transaction

from tubertrack.apps.accounts.models import Device, Farm, Member
from tubertrack.apps.records.feed import entry_as_json, raw_of
from tubertrack.apps.records.log import key_of, parsed_columns
from tubertrack.apps.records.models import Record
from tubertrack.apps.records.services import Verdict, append, keep, numbered
from tubertrack.core.sync.envelope import read_envelope

FORMAT = "winter-tally-records-1"
AT_ONCE = 200


class NotALog(Exception):
    """The file cannot be taken; the sentence says why and at which line."""


def export_lines(farm: Farm) -> Iterator[str]:
    """One JSON object a line: first the farm with its people and devices, then each entry."""
    yield json.dumps(_heading(farm), ensure_ascii=True)
    for record in Record.objects.filter(farm=farm).order_by("seq").iterator(chunk_size=500):
        yield json.dumps(entry_as_json(record), ensure_ascii=True)


def _heading(farm: Farm) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "farm": {"id": str(farm.pk), "name": farm.name, "time_zone": farm.time_zone},
        "members": [
            {
                "id": str(one.pk),
                "name": one.name,
                "role": one.role,
                "active": one.active,
                "erased": one.erased,
            }
            for one in farm.members.order_by("pk")
        ],
        "devices": [
            {
                "id": str(one.pk),
                "name": one.name,
                "sort": one.sort,
                "member": str(one.member_id) if one.member_id else None,
            }
            for one in farm.devices.order_by("pk")
        ],
    }


def _lines(lines: Iterable[str]) -> Iterator[tuple[int, dict[str, Any]]]:
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        try:
            told = json.loads(line)
        except (ValueError, RecursionError):
            told = None
        if not isinstance(told, dict):
            raise NotALog(f"Line {number} is not a JSON object. Nothing of it was taken.")
        yield number, told


def _entries(lines: Iterable[tuple[int, dict[str, Any]]]) -> Iterator[tuple[dict[str, Any], bytes]]:
    for number, told in lines:
        if "format" in told:
            continue
        try:
            yield told, raw_of(told)
        except (KeyError, ValueError):
            raise NotALog(f"Line {number} holds no record (raw or raw_b64).") from None


def import_as_new(farm: Farm, lines: Iterable[str], *, now: int) -> list[Verdict]:
    """Puts the records of the lines into a farm as if a phone had sent them now.

    All or none. Only `raw` is read; what another server said of a record is not believed. Those
    that are there already stay as they are.
    """
    server = Device.objects.select_related("member").get(farm=farm, sort=Device.Sort.SERVER)
    verdicts: list[Verdict] = []
    with transaction.atomic():
        portion: list[bytes] = []
        for _, raw in _entries(_lines(lines)):
            portion.append(raw)
            if len(portion) == AT_ONCE:
                verdicts += append(farm.pk, portion, device=server, now=now)
                portion = []
        verdicts += append(farm.pk, portion, device=server, now=now)
    return verdicts


@transaction.atomic
def import_as_told(lines: Iterable[str]) -> Farm:
    """The farm of an export as it stood: numbers, chain, times, roles and what was set aside.

    The farm is made anew with its people and devices, which sign in again; it must not be here
    yet. NotALog when a link of the chain does not hold: then the file was changed or torn.
    """
    told_lines = _lines(lines)
    number, heading = next(told_lines, (1, {}))
    if heading.get("format") != FORMAT:
        raise NotALog(f"Line {number} does not say which farm this is. Was the file exported here?")
    farm = _farm_of(heading)
    portion: list[Record] = []
    for told, raw in _entries(told_lines):
        portion.append(_told_record(farm, told, raw))
        if len(portion) == AT_ONCE:
            keep(farm, portion)
            portion = []
    keep(farm, portion)
    return farm


def _farm_of(heading: dict[str, Any]) -> Farm:
    told = heading["farm"]
    if Farm.objects.filter(pk=told["id"]).exists():
        raise NotALog(
            f"The farm {told['name']} is on this server already. Without --as-told its records can"
            " be added to it."
        )
    farm = Farm.objects.create(pk=told["id"], name=told["name"], time_zone=told["time_zone"])
    for one in heading["members"]:
        Member.objects.create(
            pk=one["id"],
            farm=farm,
            name=one["name"],
            role=one["role"],
            active=one["active"],
            erased=one.get("erased", False),
        )
    for one in heading["devices"]:
        Device.objects.create(
            pk=one["id"], farm=farm, name=one["name"], sort=one["sort"], member_id=one["member"]
        )
    return farm


def _told_record(farm: Farm, told: dict[str, Any], raw: bytes) -> Record:
    ms, counter = told.get("stamp_eff") or (None, None)
    record = numbered(
        farm,
        Record(
            farm=farm,
            sha256=key_of(raw),
            raw=raw,
            size=len(raw),
            received_at=told["received_at"],
            received_on=told["received_on"],
            recorded_on=told["recorded_on"],
            stamp_eff_ms=ms,
            stamp_eff_counter=counter,
            held=told.get("held", ""),
            role=told["role"],
            relayed_by_id=told.get("relayed_by"),
            **parsed_columns(read_envelope(raw)),
        ),
    )
    if bytes(record.chain).hex() != told["chain"]:
        raise NotALog(
            f"Entry {record.seq} is not as it was exported: the chain does not hold."
            " The file was changed or torn; nothing was taken."
        )
    return record
