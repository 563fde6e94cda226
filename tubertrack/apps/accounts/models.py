"""Farms, the people on them, their devices, the one-time ways in, and what is kept off the log."""

from __future__ import annotations

import uuid
from typing import Any, ClassVar

from django.contrib.auth.models import AbstractUser
from django.db import models

from tubertrack.core.sync.chain import START


class User(AbstractUser):
    """Somebody who signs in with a session: an owner. Helpers have only their devices."""

    runs_machine = models.BooleanField(
        default=False, help_text="Signed in by the link that the server prints on its own machine."
    )

    @property
    def has_password(self) -> bool:
        """Whether one was chosen; nobody signs in by an empty one."""
        return bool(self.password) and self.has_usable_password()


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
    name = models.CharField(max_length=200, blank=True)  # "" once it was erased
    role = models.CharField(max_length=10, choices=Role)
    active = models.BooleanField(default=True)
    erased = models.BooleanField(default=False, editable=False)

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
    app = models.CharField(max_length=80, blank=True, default="")  # the build it last told
    waiting = models.IntegerField(null=True, blank=True)  # entries it said it still held
    waiting_at = models.DateTimeField(null=True, blank=True)

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
    """Lets one phone in, once, within ten minutes: by a secret in a picture, or by six digits."""

    secret_hash = models.CharField(max_length=64, default="", db_index=True)
    code_hash = models.CharField(max_length=64)
    door = models.CharField(max_length=2, default="")
    """The first two digits: by them a wrong try is laid to one farm's codes and to no other's."""
    farm = models.ForeignKey(Farm, models.CASCADE)
    member = models.ForeignKey(Member, models.CASCADE)
    device = models.ForeignKey(Device, models.CASCADE, null=True)  # a revoked one comes back
    created_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
    attempts = models.PositiveIntegerField(default=0)  # wrong digits; they do not end the secret


class StartLink(models.Model):
    """A link on the machine that runs the server: signs its member in, once."""

    token_hash = models.CharField(max_length=64, unique=True)
    member = models.ForeignKey(Member, models.CASCADE)
    created_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)


class Tries(models.Model):
    """How often somebody tried to get in by a door; in the database, so that it holds over every
    process and a restart. Whose tries is kept as a keyed hash, and not for long.
    """

    door = models.CharField(max_length=20)
    whose = models.CharField(max_length=64)
    wrong = models.PositiveIntegerField(default=0)
    last_at = models.DateTimeField(db_index=True)
    free_at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "tries"
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(fields=["door", "whose"], name="one_count_per_door"),
        ]


class Buyer(models.Model):
    """Somebody who buys from the farm. Off the record log, so that it can be erased."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    farm = models.ForeignKey(Farm, models.CASCADE, related_name="buyers")
    name = models.CharField(max_length=200)
    contact = models.CharField(max_length=500, blank=True, default="")
    note = models.CharField(max_length=2000, blank=True, default="")

    def __str__(self) -> str:
        return f"buyer {self.pk}"  # the admin's log keeps this, so it holds no name


class Sale(models.Model):
    """What records of one sale do not say: to whom and for how much. They carry its `uid` alone."""

    uid = models.UUIDField()
    farm = models.ForeignKey(Farm, models.CASCADE, related_name="sales")
    buyer = models.ForeignKey(Buyer, models.SET_NULL, null=True, blank=True, related_name="sales")
    price_minor = models.BigIntegerField(null=True, blank=True)  # cents, pence; null: not told
    currency = models.CharField(max_length=3, blank=True, default="")
    note = models.CharField(max_length=2000, blank=True, default="")

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(fields=["farm", "uid"], name="sale_once_per_farm"),
        ]

    def __str__(self) -> str:
        return f"sale {self.uid}"


class Price(models.Model):
    """A line of the farm's price list: one unit of a variety, or of any that has no line."""

    class Unit(models.TextChoices):
        CLUMP = "clump"
        TUBER = "tuber"
        CUTTING = "cutting"
        POT_PLANT = "pot_plant"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    farm = models.ForeignKey(Farm, models.CASCADE, related_name="prices")
    variety = models.UUIDField(null=True, blank=True)  # id of a row of the record log
    unit = models.CharField(max_length=10, choices=Unit)
    price_minor = models.BigIntegerField()
    currency = models.CharField(max_length=3)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["farm", "variety", "unit", "currency"], name="price_once_per_variety"
            ),
            models.UniqueConstraint(  # to a database two unknowns differ
                fields=["farm", "unit", "currency"],
                condition=models.Q(variety=None),
                name="price_once_for_all",
            ),
        ]

    def __str__(self) -> str:
        return f"price of a {self.unit}"
