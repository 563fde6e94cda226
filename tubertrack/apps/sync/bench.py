"""How fast a farm's phones are served, beside writing the same rows with nothing else done."""

from __future__ import annotations

import json
import time
import uuid
from collections.abc import Callable, Iterator
from typing import Any, TextIO

from django.db import transaction

from tubertrack.apps.accounts.models import Device, Farm
from tubertrack.apps.accounts.services import create_farm, enrol_device
from tubertrack.apps.records import warm
from tubertrack.apps.records.models import Record
from tubertrack.apps.records.services import erase_farm
from tubertrack.apps.sync.selectors import pull
from tubertrack.apps.sync.services import MOST_RECORDS, push
from tubertrack.core.sync.chain import START

CRATES = 400
CHECKS_EACH = 10
NOW = 1_731_578_400_000
DAY_MS = 86_400_000


def bench_sync(stdout: TextIO, *, crates: int = CRATES) -> dict[str, Any]:
    """A winter of 400 crates (some 5,000 records): pushed, pulled by a new phone, and written plainly."""
    farm = create_farm(name="Benchmark", time_zone="UTC")
    bare = create_farm(name="Benchmark, bare rows", time_zone="UTC")
    try:
        return _measured(stdout, farm, bare, crates)
    finally:
        for one in (farm, bare):
            erase_farm(one.pk)


def _measured(stdout: TextIO, farm: Farm, bare: Farm, crates: int) -> dict[str, Any]:
    device = enrol_device(farm.members.get(), name="Benchmark", sort=Device.Sort.SCRIPT).device
    texts = list(_winter(farm, device, crates))
    warm.forget(farm.pk)
    pushed = _timed(stdout, "push", lambda: _push_all(device, texts))
    pulled = _timed(stdout, "pull", lambda: _pull_all(farm, len(texts)))
    plain = _timed(stdout, "bare rows", lambda: _write_bare(farm, bare))
    count = len(texts)
    return {
        "figures": {
            "records": count,
            "push_seconds": pushed,
            "pushed_per_second": count / pushed,
            "pull_seconds": pulled,
            "pulled_per_second": count / pulled,
            "bare_seconds": plain,
        },
        "ratios": {"push_to_bare_rows": pushed / plain, "pull_to_bare_rows": pulled / plain},
        "targets": {"push_to_bare_rows": {"at_most": 15.0}, "pull_to_bare_rows": {"at_most": 1.0}},
    }


def _timed(stdout: TextIO, name: str, work: Callable[[], None]) -> float:
    start = time.perf_counter()
    work()
    taken = time.perf_counter() - start
    stdout.write(f"{name}: {taken:.2f} s\n")
    return taken


def _push_all(device: Device, texts: list[str]) -> None:
    for start in range(0, len(texts), MOST_RECORDS):
        told = {
            "protocol": 1,
            "device": str(device.pk),
            "records": texts[start : start + MOST_RECORDS],
        }
        push(device, told, now=NOW + start)


def _pull_all(farm: Farm, count: int) -> None:
    cursor, seen = (0, START.hex()), 0
    while entries := json.loads(json.dumps(pull(farm.pk, cursor)))["entries"]:
        cursor = (entries[-1]["seq"], entries[-1]["chain"])
        seen += len(entries)
    if seen != count:
        raise AssertionError(f"{seen} entries came back of {count}")


def _write_bare(farm: Farm, bare: Farm) -> None:
    """The log's rows alone, in as many transactions: no verdict, chain, fold or projection."""
    rows = list(Record.objects.filter(farm=farm).order_by("seq"))
    for row in rows:
        row.pk, row.farm, row.relayed_by = None, bare, None
    for start in range(0, len(rows), MOST_RECORDS):
        with transaction.atomic():
            Record.objects.bulk_create(rows[start : start + MOST_RECORDS])


def _winter(farm: Farm, device: Device, crates: int) -> Iterator[str]:
    """Lots found and packed into crates, each looked at ten times with a tuber lost now and then."""
    number = 0

    def text(kind: str, body: dict[str, Any], day: int) -> str:
        nonlocal number
        number += 1
        at = NOW - (200 - day) * DAY_MS
        envelope = {
            "id": str(uuid.UUID(int=number, version=4)),
            "farm": str(farm.pk),
            "device": str(device.pk),
            "device_seq": number,
            "author": str(device.member_id),
            "kind": kind,
            "v": 1,
            "occurred_on": f"2024-{5 + day // 28:02}-{day % 28 + 1:02}",
            "recorded_at": at + number,
            "body": body,
        }
        return json.dumps(envelope, separators=(",", ":"))

    for crate in range(crates):
        lot, box = (str(uuid.UUID(int=sort << 96 | crate, version=4)) for sort in (1, 2))
        line = {"lot": lot, "count": 34}
        yield text("found", {"lot": lot, "unit": "tuber", "count": 34}, 0)
        yield text("packed", {"from": [line], "lots": [line], "crate": box}, 1)
    for look in range(CHECKS_EACH):
        for crate in range(crates):
            lot, box = (str(uuid.UUID(int=sort << 96 | crate, version=4)) for sort in (1, 2))
            lost = {"removed": {"rot": 1}} if (crate + look) % 7 == 0 else {}
            body = {"crate": box, "look": "top", "lines": [{"lot": lot, **lost}]}
            yield text("checked", body, 14 * (look + 1))


BENCHES = {"sync": bench_sync}
