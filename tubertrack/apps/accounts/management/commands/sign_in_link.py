"""`manage.py sign_in_link NAME`: a way in for an owner who has forgotten the password."""

from __future__ import annotations

import os
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from tubertrack.apps.accounts import clock
from tubertrack.apps.accounts.models import Member
from tubertrack.apps.accounts.passwords import sign_in_name
from tubertrack.apps.accounts.services import link_for, new_user

USUAL = "http://localhost:8000"


class Command(BaseCommand):
    help = (
        "Prints a link that signs an owner in once, within 12 hours, and lets a new password be"
        " chosen. Whoever may run this on the farm's computer may sign in as any owner."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "name", help="the name the owner signs in by, or the owner's name on the farm"
        )
        parser.add_argument(
            "--address",
            default=os.environ.get("TUBERTRACK_APP_URL") or settings.PUBLIC_URL or USUAL,
            help=f"where the server answers (default {USUAL})",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        member = _owner_named(options["name"])
        if member.user is None:
            member.user = new_user(sign_in_name(member.name) or "owner")
            member.save(update_fields=["user"])
        self.stdout.write(link_for(member, options["address"], now=clock.now()))


def _owner_named(name: str) -> Member:
    owners = list(
        Member.objects.filter(role=Member.Role.OWNER, active=True)
        .select_related("user", "farm")
        .order_by("farm__created_at", "name")
    )
    folded = sign_in_name(name)
    found = [one for one in owners if one.user and one.user.username in (name, folded)]
    found = found or [one for one in owners if sign_in_name(one.name) == folded]
    if len({one.user_id or one.pk for one in found}) == 1:
        return found[0]
    if found:
        raise CommandError(
            f"Several owners are called {name}. Say the name one of them signs in by: "
            + ", ".join(sorted(one.user.username if one.user else "none yet" for one in found))
        )
    listed = "; ".join(
        f"{one.name} on {one.farm.name}"
        + (f", who signs in as {one.user.username}" if one.user else "")
        for one in owners
    )
    raise CommandError(f"No owner is called {name}. Owners here: {listed or 'none yet'}.")
