"""How farms begin, how devices come and go, and the link for whoever runs the machine."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import available_timezones

from django.db import transaction
from rest_framework.exceptions import APIException, NotFound

from tubertrack.apps.accounts.models import Device, Farm, Member, PairingCode, StartLink, User
from tubertrack.apps.accounts.secrets import new_token, token_hash

START_LINK_LIFE = timedelta(hours=12)


class NoSuchZone(APIException):
    """The time zone is not in the tz database."""

    status_code = 400
    default_code = "unknown_time_zone"
    default_detail = "This time zone is not known. Write it like Europe/Dublin."

    def __init__(self, name: str) -> None:
        super().__init__()
        self.fields = {"time_zone": [f"{name!r} is not known. Write it like Europe/Dublin."]}


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


def device_of(farm: Farm, device_id: Any) -> Device:
    """A phone, browser or script of the farm; NotFound also for the farm's server itself."""
    devices = Device.objects.filter(farm=farm, pk=device_id).exclude(sort=Device.Sort.SERVER)
    found = devices.select_related("member", "farm").first()
    if found is None:
        raise NotFound
    return found


@transaction.atomic
def revoke_device(device: Device, *, now: datetime) -> None:
    """The device's token is worth nothing from now on; what it sent stays.

    A push of it that is being stored is waited for; one that comes after is refused.
    """
    Farm.objects.select_for_update().get(pk=device.farm_id)
    device.refresh_from_db(fields=["revoked_at"])
    if device.revoked_at is None:
        device.revoked_at = now
        device.save(update_fields=["revoked_at"])
    PairingCode.objects.filter(device=device, used_at=None).delete()


@transaction.atomic
def release_device(device: Device) -> None:
    """What a quarantined device sends from now on counts; what it sent stays set aside."""
    Farm.objects.select_for_update().get(pk=device.farm_id)
    device.quarantined = False
    device.save(update_fields=["quarantined"])


def name_device(device: Device, name: str) -> None:
    """The device is shown by this name."""
    device.name = name
    device.save(update_fields=["name"])


HEARD_EVERY = timedelta(minutes=1)


def heard_from(device: Device, *, now: datetime, waiting: int | None = None, app: str = "") -> None:
    """Remembers when a device last spoke, what it said it still holds, and its build.

    Written when something changed, else once a minute: readers need no write each time.
    """
    told: dict[str, Any] = {}
    if app and app != device.app:
        told["app"] = app
    if waiting is not None and waiting != device.waiting:
        told["waiting"] = waiting
    is_old = device.last_heard_at is None or now - device.last_heard_at > HEARD_EVERY
    if not (told or is_old):
        return
    if waiting is not None:
        told["waiting_at"] = now
    Device.objects.filter(pk=device.pk).update(last_heard_at=now, **told)


def mint_start_link(base_url: str, *, now: datetime, farm: Farm | None = None) -> str:
    """An address that signs in whoever runs the machine, once; that person is an owner.

    Where there is no farm yet an empty one is made. With `farm` its owner is signed in. The user
    of the machine becomes the user of every farm on it whose owners have none.
    """
    owner = _machine_user()
    if farm is None and not Farm.objects.exists():
        create_farm(name="My farm", time_zone="UTC", owner=owner)
    _adopt_farms(owner)
    owned = Member.objects.filter(role=Member.Role.OWNER, active=True, user__isnull=False)
    owned = owned.filter(farm=farm) if farm else owned
    mine = owned.filter(user=owner).order_by("farm__created_at").first()
    member = mine or owned.order_by("farm__created_at", "pk").first()
    if member is None:
        raise Member.DoesNotExist("no farm here has an owner who can be signed in")
    return link_for(member, base_url, now=now)


def link_for(member: Member, base_url: str, *, now: datetime) -> str:
    """An address that signs this member's user in, once, within 12 hours."""
    token = new_token()
    StartLink.objects.create(
        token_hash=token_hash(token), member=member, expires_at=now + START_LINK_LIFE
    )
    return f"{base_url.rstrip('/')}/start/{token}"


def _machine_user() -> User:
    found = User.objects.filter(runs_machine=True, is_active=True).first()
    return found or new_user("owner", runs_machine=True)


def new_user(wanted: str, **told: Any) -> User:
    """A user without a password, by this sign-in name or the next free one."""
    name, number = wanted, 1
    while User.objects.filter(username=name).exists():
        number += 1
        name = f"{wanted}-{number}"
    user = User(username=name, **told)
    user.set_unusable_password()
    user.save()
    return user


def _adopt_farms(owner: User) -> None:
    reachable = Member.objects.filter(role=Member.Role.OWNER, active=True, user__isnull=False)
    for farm in Farm.objects.exclude(pk__in=reachable.values("farm")):
        first = farm.members.filter(role=Member.Role.OWNER, active=True, user=None).first()
        if first and not farm.members.filter(user=owner).exists():
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
