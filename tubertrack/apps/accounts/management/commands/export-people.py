# ruff: noqa: N999  the command is called so
"""`manage.py export-people FILE`: what a farm keeps of people beside its entries."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.core.serializers.json import DjangoJSONEncoder

from tubertrack.apps.accounts.models import Farm
from tubertrack.apps.accounts.selectors import people_told


class Command(BaseCommand):
    help = (
        "Writes people, buyers, sales and prices of a farm as JSON. They stand in no export of the"
        " records, so this is kept, handed over or deleted on its own."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", help="the file to write, or - for the screen")
        parser.add_argument("--farm", help="its id; needed where there is more than one farm")

    def handle(self, *args: Any, **options: Any) -> None:
        told = json.dumps(
            people_told(_farm(options["farm"])), cls=DjangoJSONEncoder, ensure_ascii=True, indent=1
        )
        if options["file"] == "-":
            sys.stdout.write(told + "\n")
            return
        kept = Path(options["file"])
        if kept.exists():
            raise CommandError(f"{kept} is there already. Give another name.")
        kept.touch(mode=0o600)  # other people's addresses are nobody else's to read
        kept.write_text(told + "\n", "utf-8")


def _farm(told: str | None) -> Farm:
    farms = {str(farm.pk): farm for farm in Farm.objects.order_by("created_at")}
    if told is None and len(farms) == 1:
        return next(iter(farms.values()))
    if told in farms:
        return farms[told]
    listed = ", ".join(f"{farm.pk} ({farm.name})" for farm in farms.values())
    raise CommandError(f"Say which farm by --farm ID. Farms here: {listed or 'none'}.")
