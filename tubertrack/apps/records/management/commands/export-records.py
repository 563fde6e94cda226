# ruff: noqa: N999  the command is called so
"""manage.py export-records: a farm's log as JSON lines."""

import sys
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from tubertrack.apps.records.management.farms import one_farm
from tubertrack.apps.records.transfer import export_lines


class Command(BaseCommand):
    help = (
        "Writes a farm's record log as JSON lines (UTF-8, ASCII escapes): a heading with the farm,"
        " its people and devices, then one line a record in the order of the feed. `raw` is the"
        " record's own text, byte for byte (`raw_b64` where it is no UTF-8); the rest is what this"
        " server said of it: when it came, with what role, why it was set aside. import-records"
        " --as-told restores the farm from it; import-records takes only `raw`."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", nargs="?", default="-", help="where to; - for the screen")
        parser.add_argument("--farm", help="id of the farm, where there are several")

    def handle(self, *args: Any, **options: Any) -> None:
        lines = export_lines(one_farm(options["farm"]))
        if options["file"] == "-":
            for line in lines:
                self.stdout.write(line)
            return
        count = 0
        with Path(options["file"]).open("w", encoding="utf-8", newline="\n") as file:
            for line in lines:
                file.write(line + "\n")
                count += 1
        sys.stderr.write(f"{count - 1} records written.\n")
