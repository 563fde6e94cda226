"""`manage.py farm_authority`: shows the farm's certificate authority, or replaces it on purpose."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from tubertrack.apps.accounts import clock
from tubertrack.apps.accounts.lan.authority import Pair, fingerprint_rows, names_in
from tubertrack.apps.accounts.lan.keeping import (
    Unusable,
    kept_authority,
    kept_leaf,
    replace_authority,
)

AFTERWARDS = """
What to do now:
  1. The server takes the new one within a minute; start it again if it does not run.
  2. On each phone remove the old authority and install this one. The steps of both, with
     pictures, are on the trust page, whose address the server prints when it starts.
  3. Until then a phone cannot reach the server. What it has not sent stays on it, and is sent
     afterwards. Nobody has to sign in anew.
"""


class Command(BaseCommand):
    help = (
        "Shows the certificate authority that phones on the farm's network trust. With --replace it"
        " makes a new one and erases the key of the old."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--replace",
            action="store_true",
            help="make a new authority, which every phone must then install",
        )
        parser.add_argument("--yes", action="store_true", help="replace it without asking")

    def handle(self, *args: Any, **options: Any) -> None:
        folder = settings.DATA_DIR / "authority"
        if not options["replace"]:
            if not folder.exists():
                raise CommandError("There is no authority yet. start --lan makes one.")
            try:
                self._show(kept_authority(folder, now=clock.now()))
                leaf = kept_leaf(folder)
            except Unusable as why:
                raise CommandError(str(why)) from why
            if leaf is not None:
                self.stdout.write(
                    f"The server has a certificate for {', '.join(names_in(leaf.loaded()))}"
                )
            return
        if not options["yes"]:
            self.stdout.write("Every phone must install the new authority by hand before it can")
            if input("reach the server again. Write “replace” to go on: ").strip() != "replace":
                raise CommandError("Nothing was changed.")
        self._show(replace_authority(folder, now=clock.now()))
        self.stdout.write(AFTERWARDS)

    def _show(self, authority: Pair) -> None:
        certificate = authority.loaded()
        self.stdout.write(
            f"{authority.name()}, good until {certificate.not_valid_after_utc:%Y-%m-%d}"
        )
        self.stdout.write("Its fingerprint (SHA-256), as phones show it:")
        for row in fingerprint_rows(authority):
            self.stdout.write(f"  {row}")
