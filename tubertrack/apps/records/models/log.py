"""The log itself: bytes as they came, numbered, chained, never changed."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models

from tubertrack.apps.accounts.models import Device, Farm
from tubertrack.core.sync.chain import Link
from tubertrack.core.sync.verdicts import HELD_CODES


class Record(models.Model):
    """One record of a farm's feed. A trigger refuses every UPDATE, and DELETE outside an Erasure.

    The columns parsed from `raw` are for looking things up; `raw` alone is what counts. They are
    empty when the bytes are no envelope.
    """

    farm = models.ForeignKey(Farm, models.PROTECT, related_name="records")
    sha256 = models.CharField(max_length=64)
    seq = models.BigIntegerField()
    raw = models.BinaryField()
    size = models.IntegerField()
    record_id = models.UUIDField(null=True)
    device = models.UUIDField(null=True)
    device_seq = models.BigIntegerField(default=0)
    author = models.UUIDField(null=True)
    kind = models.CharField(max_length=60, blank=True)
    v = models.IntegerField(default=0)
    occurred_on = models.CharField(max_length=10, blank=True)
    recorded_at = models.BigIntegerField(default=0)
    received_at = models.BigIntegerField()
    received_on = models.CharField(max_length=10)
    recorded_on = models.CharField(max_length=10)
    stamp_ms = models.BigIntegerField(null=True)
    stamp_counter = models.BigIntegerField(null=True)
    stamp_eff_ms = models.BigIntegerField(null=True)
    stamp_eff_counter = models.BigIntegerField(null=True)
    held = models.CharField(max_length=20, blank=True)
    role = models.CharField(max_length=10, blank=True)
    relayed_by = models.ForeignKey(Device, models.PROTECT, null=True, related_name="+")
    chain = models.BinaryField(max_length=16)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(fields=["farm", "sha256"], name="record_once_per_farm"),
            models.UniqueConstraint(fields=["farm", "seq"], name="record_number_once_per_farm"),
            models.CheckConstraint(condition=models.Q(seq__gt=0), name="record_number_from_1"),
            models.CheckConstraint(
                condition=models.Q(held__in=["", *HELD_CODES]), name="record_held_code_known"
            ),
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["farm", "record_id"], name="record_by_id"),
            models.Index(fields=["farm", "device", "device_seq"], name="record_by_device"),
            models.Index(fields=["farm", "kind", "seq"], name="record_by_kind"),
            models.Index(fields=["farm", "seq"], condition=~models.Q(held=""), name="record_held"),
        ]

    def __str__(self) -> str:
        return f"{self.seq} {self.kind}"

    @property
    def stamp_eff(self) -> tuple[int, int] | None:
        if self.stamp_eff_ms is None or self.stamp_eff_counter is None:
            return None
        return self.stamp_eff_ms, self.stamp_eff_counter

    def link(self) -> Link:
        """What the server says of this record, as the chain covers it."""
        return Link(
            sha256=self.sha256,
            seq=self.seq,
            received_at=self.received_at,
            received_on=self.received_on,
            recorded_on=self.recorded_on,
            stamp=self.stamp_eff,
            held=self.held,
            role=self.role,
        )


class Erasure(models.Model):
    """While a row of a farm stands here, and only then, its records may be deleted.

    The one way to take records out of the log: services.erase_farm, which tests use as well.
    """

    farm_id = models.UUIDField(primary_key=True)
    begun_at = models.DateTimeField(auto_now_add=True)
