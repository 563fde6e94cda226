"""The people of a farm: who joins, what they may do, who leaves."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from rest_framework.exceptions import APIException, NotFound

from tubertrack.apps.accounts.models import Farm, Member


class LastOwner(APIException):
    """Somebody must be able to let people in."""

    status_code = 409
    default_code = "last_owner"
    default_detail = "This is the only owner of the farm. Make somebody else an owner first."


class ErasedPerson(APIException):
    """Whose name was erased stays nobody."""

    status_code = 409
    default_code = "erased"
    default_detail = "This person's name was erased. Add the person anew to let them in again."


def add_member(farm: Farm, *, name: str, role: str) -> Member:
    """Somebody new; a phone of theirs is paired next."""
    return Member.objects.create(farm=farm, name=name, role=role)


@transaction.atomic
def change_member(farm: Farm, member_id: Any, **changes: Any) -> Member:
    """The member with another name, role or standing; LastOwner rather than a farm without one."""
    member = locked_member(farm, member_id)
    if member.erased:
        raise ErasedPerson
    for name, value in changes.items():
        setattr(member, name, value)
    member.save()
    must_have_owner(farm)
    return member


def locked_member(farm: Farm, member_id: Any) -> Member:
    """The member, while the farm is locked: two owners cannot demote each other at one moment."""
    Farm.objects.select_for_update().get(pk=farm.pk)
    member = Member.objects.select_related("user").filter(farm=farm, pk=member_id).first()
    if member is None:
        raise NotFound
    return member


def must_have_owner(farm: Farm) -> None:
    """LastOwner when nobody is left who could let people in."""
    if not farm.members.filter(role=Member.Role.OWNER, active=True).exists():
        raise LastOwner
