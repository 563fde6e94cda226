"""How farms begin, and how people and devices get in and out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import available_timezones

from django.db import transaction
from django.db.models import F
from rest_framework.exceptions import APIException, NotFound

from tubertrack.apps.accounts.models import Device, Farm, Member, PairingCode, StartLink, User
from tubertrack.apps.accounts.secrets import code_hash, new_code, new_token, token_hash

CODE_LIFE = timedelta(minutes=10)
CODE_TRIES = 10
"""Wrong codes that any living code outlives: 10 in a million to guess one."""

START_LINK_LIFE = timedelta(hours=12)


class WrongCode(APIException):
    """The code is not one that lets a phone in now."""

    status_code = 403
    default_code = "wrong_code"
    default_detail = (
        "This code does not let a phone in: it was typed wrong, used, or is older than"
        " 10 minutes. Make a new one on the Phone page of the owner."
    )


class NoSuchZone(APIException):
    """The time zone is not in the tz database."""

    status_code = 400
    default_code = "unknown_time_zone"
    default_detail = "This time zone is not known. Write it like Europe/Dublin."

    def __init__(self, name: str) -> None:
        super().__init__()
        self.fields = {"time_zone": [f"{name!r} is not known. Write it like Europe/Dublin."]}


class LastOwner(APIException):
    """Somebody must be able to let people in."""

    status_code = 409
    default_code = "last_owner"
    default_detail = "This is the only owner of the farm. Make somebody else an owner first."


@dataclass(frozen=True, slots=True)
class Enrolled:
    """A device with the token that is shown this once."""

    device: Device
    token: str


@transaction.atomic
def create_farm(
    *,
    name: str,
    time_zone: str,
    owner: User | None = None,
    owner_name: str = "Owner",
    farm_id: Any = None,
) -> Farm:
    """A farm without records, with its owner as the first member and its server as a device."""
    if time_zone not in available_timezones():
        raise NoSuchZone(time_zone)
    chosen = {"id": farm_id} if farm_id else {}
    farm = Farm.objects.create(name=name, time_zone=time_zone, **chosen)
    Member.objects.create(farm=farm, user=owner, name=owner_name, role=Member.Role.OWNER)
    Device.objects.create(farm=farm, name="Server", sort=Device.Sort.SERVER)
    return farm


def settle_time_zone(farm: Farm, time_zone: str) -> None:
    """A farm without records takes this zone, if there is such a one; others keep theirs.

    The dates of records are worked out once, so a zone may not change beneath them.
    """
    if time_zone in available_timezones():
        Farm.objects.filter(pk=farm.pk, last_seq=0).update(time_zone=time_zone)
        farm.refresh_from_db()


def enrol_device(member: Member, *, name: str, sort: str) -> Enrolled:
    """A new device of this member."""
    token = new_token()
    device = Device.objects.create(
        farm=member.farm, member=member, name=name, sort=sort, token_hash=token_hash(token)
    )
    return Enrolled(device, token)


def revoke_device(device: Device, *, now: datetime) -> None:
    """The device's token is worth nothing from now on; what it sent stays."""
    if device.revoked_at is None:
        device.revoked_at = now
        device.save(update_fields=["revoked_at"])


@transaction.atomic
def make_pairing_code(
    member: Member, *, now: datetime, device: Device | None = None
) -> tuple[str, PairingCode]:
    """Six digits that let one phone of this member in; no other living code has them.

    With `device`, that revoked phone comes back, quarantined: what it still holds arrives set aside.
    """
    living = set(
        PairingCode.objects.filter(used_at=None, expires_at__gt=now).values_list(
            "code_hash", flat=True
        )
    )
    code = new_code()
    while code_hash(code) in living:
        code = new_code()
    kept = PairingCode.objects.create(
        code_hash=code_hash(code),
        farm=member.farm,
        member=member,
        device=device,
        expires_at=now + CODE_LIFE,
    )
    return code, kept


def pair(code: str, *, device_name: str, now: datetime) -> Enrolled:
    """The phone that typed this code, enrolled. WrongCode otherwise, and the try is counted."""
    with transaction.atomic():
        living = PairingCode.objects.filter(
            used_at=None, expires_at__gt=now, attempts__lt=CODE_TRIES, member__active=True
        )
        found = (
            living.filter(code_hash=code_hash(code))
            .select_related("member__farm", "device")
            .select_for_update(of=("self",))
            .first()
        )
        if found:
            found.used_at = now
            found.save(update_fields=["used_at"])
            return _let_in(found, device_name)
        living.update(attempts=F("attempts") + 1)
    raise WrongCode


def _let_in(found: PairingCode, device_name: str) -> Enrolled:
    if found.device is None:
        return enrol_device(found.member, name=device_name, sort=Device.Sort.PHONE)
    token, device = new_token(), found.device
    device.token_hash, device.revoked_at, device.quarantined = token_hash(token), None, True
    device.save(update_fields=["token_hash", "revoked_at", "quarantined"])
    return Enrolled(device, token)


def mint_start_link(base_url: str, *, now: datetime, farm: Farm | None = None) -> str:
    """An address that signs the owner in once; whoever runs the server is the owner.

    Where there is no farm yet an empty one is made. With `farm` its owner is signed in. The owner
    of the machine becomes an owner of every farm on it that has no user for an owner.
    """
    owner, fresh = User.objects.get_or_create(username="owner")
    if fresh:
        owner.set_unusable_password()
        owner.save()
    if farm is None and not Farm.objects.exists():
        create_farm(name="My farm", time_zone="UTC", owner=owner)
    _adopt_farms(owner)
    owned = Member.objects.filter(user=owner, active=True)
    member = (owned.filter(farm=farm) if farm else owned).order_by("farm__created_at").first()
    if member is None:
        raise Member.DoesNotExist("the owner of this machine is no member of that farm")
    token = new_token()
    StartLink.objects.create(
        token_hash=token_hash(token), member=member, expires_at=now + START_LINK_LIFE
    )
    return f"{base_url.rstrip('/')}/start/{token}"


def _adopt_farms(owner: User) -> None:
    for farm in Farm.objects.exclude(members__user__isnull=False):
        first = farm.members.filter(role=Member.Role.OWNER, active=True).first()
        if first:
            first.user = owner
            first.save(update_fields=["user"])


def use_start_link(token: str, *, now: datetime) -> Member | None:
    """The member that this link signs in, the first time within its life; None afterwards."""
    with transaction.atomic():
        link = (
            StartLink.objects.select_related("member__user")
            .select_for_update(of=("self",))
            .filter(token_hash=token_hash(token), used_at=None, expires_at__gt=now)
            .first()
        )
        if link is None or not link.member.active or link.member.user is None:
            return None
        link.used_at = now
        link.save(update_fields=["used_at"])
        return link.member


def heard_from(device: Device, *, now: datetime) -> None:
    """Remembers when a device last spoke, to the minute: readers need no write each time."""
    if device.last_heard_at is None or now - device.last_heard_at > timedelta(minutes=1):
        Device.objects.filter(pk=device.pk).update(last_heard_at=now)


@transaction.atomic
def change_member(farm: Farm, member_id: Any, **changes: Any) -> Member:
    """The member with another name, role or standing; LastOwner rather than a farm without one."""
    Farm.objects.select_for_update().get(pk=farm.pk)
    member = Member.objects.filter(farm=farm, pk=member_id).first()
    if member is None:
        raise NotFound
    for name, value in changes.items():
        setattr(member, name, value)
    member.save()
    if not farm.members.filter(role=Member.Role.OWNER, active=True).exists():
        raise LastOwner
    return member
