"""How a phone gets in: by the picture on an owner's screen, or by the six digits below it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import F, QuerySet
from rest_framework.exceptions import APIException, NotFound

from tubertrack.apps.accounts import tries
from tubertrack.apps.accounts.models import Device, Farm, Member, PairingCode
from tubertrack.apps.accounts.secrets import (
    code_hash,
    new_code,
    new_pairing_secret,
    new_token,
    token_hash,
)
from tubertrack.apps.accounts.services import Enrolled, enrol_device

CODE_LIFE = timedelta(minutes=10)
CODE_TRIES = 10
"""Wrong digits that end a farm's digits: 10 in a million to guess them where one farm pairs."""

DOOR = 2
"""So many leading digits may tell farms apart that pair at the same moment."""


class WrongCode(APIException):
    """The code is not one that lets a phone in now."""

    status_code = 403
    default_code = "wrong_code"
    default_detail = (
        "This code does not let a phone in: it was typed wrong, used, or is older than"
        " 10 minutes. Make a new one on the Phone page of the owner."
    )


@dataclass(frozen=True, slots=True)
class Pairing:
    """What lets one phone in, shown this once."""

    code: str
    secret: str
    expires_at: datetime


@transaction.atomic
def make_code(farm: Farm, member_id: Any, *, now: datetime, device_id: Any = None) -> Pairing:
    """A secret and six digits that let one phone of this member in, once, for ten minutes.

    With `device_id`, that revoked phone comes back, quarantined: what it still holds arrives set
    aside. NotFound for a person who has left or is of another farm, and for a phone that is not a
    revoked one of this person.
    """
    PairingCode.objects.filter(expires_at__lte=now).delete()
    member = Member.objects.filter(farm=farm, pk=member_id, active=True).first()
    device = None
    if member is not None and device_id is not None:
        revoked = Device.objects.filter(farm=farm, member=member, revoked_at__isnull=False)
        device = revoked.filter(pk=device_id).first()
    if member is None or (device_id is not None and device is None):
        raise NotFound
    code, secret = _free_code(farm, now), new_pairing_secret()
    kept = PairingCode.objects.create(
        secret_hash=token_hash(secret),
        code_hash=code_hash(code),
        door=code[:DOOR],
        farm=farm,
        member=member,
        device=device,
        expires_at=now + CODE_LIFE,
    )
    return Pairing(code, secret, kept.expires_at)


def _living(now: datetime) -> QuerySet[PairingCode]:
    return PairingCode.objects.filter(used_at=None, expires_at__gt=now, member__active=True)


def _free_code(farm: Farm, now: datetime) -> str:
    """Digits that no living code has, at a door that no other farm has while there are any."""
    living = list(_living(now).values_list("code_hash", "door", "farm"))
    taken = {code for code, _, _ in living}
    doors = {door for _, door, of in living if of != farm.pk}
    starts = {door[:1] for door in doors}
    all_doors = {f"{n:0{DOOR}}" for n in range(10**DOOR)}
    free = {door for door in all_doors if door[:1] not in starts} or (all_doors - doors)
    while True:
        code = new_code()
        if code_hash(code) not in taken and (not free or code[:DOOR] in free):
            return code


def pair_by_secret(secret: str, *, device_name: str, now: datetime) -> Enrolled:
    """The phone that read the picture, enrolled; WrongCode otherwise. Nobody guesses 128 bits."""
    with transaction.atomic():
        found = _locked(_living(now).filter(secret_hash=token_hash(secret)))
        if found:
            return _let_in(found, device_name, now)
    raise WrongCode


def pair_by_digits(code: str, *, place: str, device_name: str, now: datetime) -> Enrolled:
    """The phone that typed these digits, enrolled.

    WrongCode otherwise, and the try is counted: for its place, with growing pauses
    (tries.TooManyTries), and against the digits at the same door, which end with the tenth. The
    secret beside them goes on letting in.
    """
    asked = [(tries.PAIRING_BY_PLACE, place)]
    tries.begin(asked, now=now)
    with transaction.atomic():
        open_to_digits = _living(now).filter(attempts__lt=CODE_TRIES)
        found = _locked(open_to_digits.filter(code_hash=code_hash(code)))
        if found:
            enrolled = _let_in(found, device_name, now)
            tries.right(asked, forgiven=None, now=now)
            return enrolled
        _count_wrong(open_to_digits, code)
    raise WrongCode


def _locked(codes: QuerySet[PairingCode]) -> PairingCode | None:
    """The code, with its farm locked: of two phones that come at once the second finds it used.

    A device cannot be revoked, nor a person leave, between this and the end of the transaction.
    """
    farm_id = codes.values_list("farm", flat=True).first()
    if farm_id is None:
        return None
    Farm.objects.select_for_update().get(pk=farm_id)
    return codes.select_related("member__farm", "device").select_for_update(of=("self",)).first()


def _count_wrong(living: QuerySet[PairingCode], code: str) -> None:
    rows = list(living.select_for_update(of=("self",)).order_by("pk").values("pk", "door", "farm"))
    told = door_length({(row["door"], row["farm"]) for row in rows})
    mine = [row["pk"] for row in rows if row["door"][:told] == code[:told]]
    PairingCode.objects.filter(pk__in=mine).update(attempts=F("attempts") + 1)


def door_length(doors: set[tuple[str, Any]]) -> int:
    """So many leading digits tell these (door, farm) apart by farm: none where there is one farm.

    Two when even those do not: then a hundred farms pair at one moment.
    """
    for length in range(DOOR):
        farms_at: dict[str, set[Any]] = {}
        for door, farm in doors:
            farms_at.setdefault(door[:length], set()).add(farm)
        if all(len(farms) == 1 for farms in farms_at.values()):
            return length
    return DOOR


def _let_in(found: PairingCode, device_name: str, now: datetime) -> Enrolled:
    found.used_at = now
    found.save(update_fields=["used_at"])
    if found.device is None:
        return enrol_device(found.member, name=device_name, sort=Device.Sort.PHONE)
    token, device = new_token(), found.device
    device.token_hash, device.revoked_at, device.quarantined = token_hash(token), None, True
    device.save(update_fields=["token_hash", "revoked_at", "quarantined"])
    return Enrolled(device, token)
