# ruff: noqa: N999  the command is called so
"""`manage.py erase-person`: somebody asked to be forgotten."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError, CommandParser

from tubertrack.apps.accounts import clock, erasure
from tubertrack.apps.accounts.models import Buyer, Member, User
from tubertrack.apps.accounts.passwords import sign_in_name
from tubertrack.apps.accounts.people import LastOwner

CANNOT_REACH = (
    "Not reached: printed pages and files handed on, backups, phones that were not online since,"
    " and names typed into notes of entries or sales."
)


class Command(BaseCommand):
    help = f"Erases a member, a buyer, or a user on every farm of this server. {CANNOT_REACH}"

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "who", help="id of a member or buyer (export-people tells it), or a sign-in name"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            self.stdout.write(_erase(options["who"]))
        except LastOwner as refused:
            raise CommandError(
                "This is the only owner of a farm. Make somebody else an owner there first, or"
                " erase the farm."
            ) from refused
        self.stdout.write(CANNOT_REACH)


def _erase(who: str) -> str:
    key = _uuid(who)
    if key is not None:
        member = Member.objects.select_related("farm").filter(pk=key).first()
        if member is not None:
            erasure.erase_member(member.farm, member.pk, now=clock.now())
            return "The member is erased."
        buyer = Buyer.objects.filter(pk=key).first()
        if buyer is not None:
            erasure.erase_buyer(buyer)
            return "The buyer is erased."
    user = User.objects.filter(username__in=[who, sign_in_name(who)]).first()
    if user is None:
        raise CommandError(f"There is no member, buyer or sign-in name {who} here.")
    farms = erasure.erase_everywhere(user, now=clock.now())
    return f"The user is erased, and as a person on {farms} farm{'' if farms == 1 else 's'}."


def _uuid(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None
