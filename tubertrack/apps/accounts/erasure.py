"""Taking people out of what a farm keeps.

What this cannot reach: what was printed or handed on, backups, a phone that was not online since
(it forgets a name with its next answer), and names that somebody typed into a note of an entry,
since entries are never changed.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.contrib.admin.models import LogEntry
from django.contrib.contenttypes.models import ContentType
from django.contrib.sessions.models import Session
from django.db import models, transaction

from tubertrack.apps.accounts import tries
from tubertrack.apps.accounts.models import (
    Buyer,
    Device,
    Farm,
    Member,
    PairingCode,
    StartLink,
    User,
)
from tubertrack.apps.accounts.people import locked_member, must_have_owner


@transaction.atomic
def erase_member(farm: Farm, member_id: Any, *, now: datetime) -> Member:
    """The member without a name, for good: entries keep the bare id.

    Their devices are revoked and lose their names (“Ben's phone”), links and codes end, and what
    the admin's log tells of them goes. Their user goes with all sessions, unless another farm
    knows it too or it runs this machine's admin: then it only leaves this farm. LastOwner for the
    only owner. Again on an erased member changes nothing.
    """
    member = locked_member(farm, member_id)
    user = member.user
    member.name, member.erased, member.active, member.user = "", True, False, None
    member.save(update_fields=["name", "erased", "active", "user"])
    must_have_owner(farm)
    devices = Device.objects.filter(member=member)
    devices.filter(revoked_at=None).update(revoked_at=now)
    for sort, plain in Device.Sort.choices:
        devices.filter(sort=sort).update(name=f"{plain} of an erased person")
    PairingCode.objects.filter(member=member).delete()
    StartLink.objects.filter(member=member).delete()
    _forget_in_admin_log(Device, devices.values_list("pk", flat=True))
    _forget_in_admin_log(Member, [member.pk])
    if user is not None and not user.is_staff and not user.members.exists():
        erase_user(user)
    return member


@transaction.atomic
def erase_user(user: User) -> None:
    """The sign-in name, e-mail, password and every session of a user, gone.

    Its members stay, without a way in but their phones; erase_member takes their names.
    """
    end_sessions(user)
    tries.forget(tries.BY_NAME, user.username)
    _forget_in_admin_log(User, [user.pk])
    StartLink.objects.filter(member__user=user).delete()
    user.delete()  # with what it did in the admin; members point to nobody


@transaction.atomic
def erase_everywhere(user: User, *, now: datetime) -> int:
    """The user and the person on every farm, erased; on how many farms that was.

    LastOwner when one of them would be left without an owner; nothing is erased then.
    """
    members = list(user.members.select_related("farm").order_by("farm"))
    for member in members:
        erase_member(member.farm, member.pk, now=now)
    left = User.objects.filter(pk=user.pk).first()  # of the staff, or on no farm at all
    if left is not None:
        erase_user(left)
    return len(members)


def erase_buyer(buyer: Buyer) -> None:
    """The buyer, gone; sales of theirs stay with their price and without a name.

    A name that was typed into the note of a sale stays there: change the note.
    """
    with transaction.atomic():
        _forget_in_admin_log(Buyer, [buyer.pk])
        buyer.delete()


def end_sessions(user: User) -> int:
    """Signs the user out of every browser; returns how many sessions that were."""
    ended = 0
    for session in Session.objects.iterator(chunk_size=500):
        if session.get_decoded().get("_auth_user_id") == str(user.pk):
            session.delete()
            ended += 1
    return ended


def forget_farm(farm: Farm) -> None:
    """What tables without a link to the farm tell of it: the admin's log. The rest goes with it."""
    for model in (Member, Device, Buyer):
        _forget_in_admin_log(model, model.objects.filter(farm=farm).values_list("pk", flat=True))
    _forget_in_admin_log(Farm, [farm.pk])


def _forget_in_admin_log(model: type[models.Model], keys: Iterable[Any]) -> None:
    of_model = LogEntry.objects.filter(content_type=ContentType.objects.get_for_model(model))
    of_model.filter(object_id__in=[str(key) for key in keys]).delete()
