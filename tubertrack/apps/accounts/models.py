"""Farms, the people on them, their devices, and the one-time ways in."""

from __future__ import annotations

import uuid
from typing import Any, ClassVar

from django.contrib.auth.models import AbstractUser
from django.db import models

from tubertrack.core.sync.chain import START


class User(AbstractUser):
    """Somebody who signs in with a session: an owner. Helpers have only their devices."""


class Farm(models.Model):
    """One farm: the wall around every row. Its row is the lock of its record log."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    name = models.CharField(max_length=200)
    time_zone = models.CharField(max_length=64)
    created_at = models.DateTimeField(auto_now_add=True)
    as_of = models.CharField(max_length=10, blank=True, default="")
    last_seq = models.BigIntegerField(default=0, editable=False)
    head_chain = models.BinaryField(max_length=16, default=START, editable=False)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=models.Q(last_seq__gte=0), name="farm_last_seq_counts"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Member(models.Model):
    """A person on a farm and what they may do there."""

    class Role(models.TextChoices):
        OWNER = "owner"
        GROWER = "grower"
        HELPER = "helper"
        VIEWER = "viewer"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    farm = models.ForeignKey(Farm, models.CASCADE, related_name="members")
    user = models.ForeignKey(User, models.SET_NULL, null=True, blank=True, related_name="members")
    name = models.CharField(max_length=200)
    role = models.CharField(max_length=10, choices=Role)
    active = models.BooleanField(default=True)

    is_authenticated = True  # what rest_framework asks of a request's user
    is_anonymous = False

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(fields=["farm", "user"], name="one_member_per_user_and_farm"),
        ]

    def __str__(self) -> str:
        return self.name


class Device(models.Model):
    """A phone, browser or script that may speak for a member; or the farm's server itself."""

    class Sort(models.TextChoices):
        PHONE = "phone"
        BROWSER = "browser"
        SERVER = "server"
        SCRIPT = "script"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    farm = models.ForeignKey(Farm, models.CASCADE, related_name="devices")
    member = models.ForeignKey(
        Member, models.CASCADE, null=True, blank=True, related_name="devices"
    )  # null: the server
    name = models.CharField(max_length=200)
    sort = models.CharField(max_length=10, choices=Sort)
    # null, not "": only real tokens must differ
    token_hash = models.CharField(max_length=64, null=True, unique=True, editable=False)  # noqa: DJ001
    quarantined = models.BooleanField(default=False)
    created_at = models.DateTimeField(auto_now_add=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_heard_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["farm"], condition=models.Q(sort="server"), name="one_server_per_farm"
            ),
            models.CheckConstraint(
                condition=models.Q(sort="server", token_hash=None)
                | (~models.Q(sort="server") & models.Q(member__isnull=False)),
                name="server_has_no_token_others_have_a_member",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def role(self) -> str:
        """What records pushed by this device may have at most; "" for somebody who has left."""
        if self.sort == self.Sort.SERVER:
            return "server"
        return self.member.role if self.member and self.member.active else ""


class PairingCode(models.Model):
    """Six digits that let one phone in, once, within ten minutes."""

    code_hash = models.CharField(max_length=64)
    farm = models.ForeignKey(Farm, models.CASCADE)
    member = models.ForeignKey(Member, models.CASCADE)
    device = models.ForeignKey(Device, models.CASCADE, null=True)  # a revoked one comes back
    created_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
    attempts = models.PositiveIntegerField(default=0)


class StartLink(models.Model):
    """A link on the machine that runs the server: signs its member in, once."""

    token_hash = models.CharField(max_length=64, unique=True)
    member = models.ForeignKey(Member, models.CASCADE)
    created_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
