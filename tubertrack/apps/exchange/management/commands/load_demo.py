"""`manage.py load_demo`: an invented farm to look around in."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from fixtures_demo.tarrowby import AS_OF, SEED
from tubertrack.apps.exchange.demo import load_demo


class Command(BaseCommand):
    help = (
        "Adds the demo farm: two finished winters and one under way. It is made anew from one"
        " seed, so the same day and seed give the same farm."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--today",
            default=AS_OF.isoformat(),
            metavar="YYYY-MM-DD",
            help=f"the day at which the farm's story stands (default {AS_OF.isoformat()})",
        )
        parser.add_argument("--seed", type=int, default=SEED)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            as_of = date.fromisoformat(options["today"])
        except ValueError as error:
            raise CommandError("--today is a day of the calendar, as 2026-01-20.") from error
        if as_of > date.today():  # noqa: DTZ011 - the machine's day is what a person at it means
            raise CommandError("--today lies in the future; records cannot.")
        farm = load_demo(as_of=as_of, seed=options["seed"])
        if options["verbosity"]:
            self.stdout.write(f"{farm.name}: {farm.last_seq} entries, as of {as_of.isoformat()}.")
