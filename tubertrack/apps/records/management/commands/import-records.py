# ruff: noqa: N999  the command is called so
"""manage.py import-records: JSON lines into a farm's log."""

import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from tubertrack.apps.accounts import clock
from tubertrack.apps.records.management.farms import one_farm
from tubertrack.apps.records.transfer import NotALog, import_as_new, import_as_told


class Command(BaseCommand):
    help = (
        "Reads JSON lines made by export-records or copied out of a phone. Without --as-told it is"
        " an ordinary delivery: each record is stored as received now, judged by this server's"
        " rules and the people of the farm; what is there already is left as it is. With --as-told"
        " the operator restores a farm that is not on this server: numbers, times of receipt,"
        " roles and what was set aside are taken from the file, so that it folds to the same state"
        " and phones go on where they were. The chain in the file must hold; people and devices"
        " come with it, and devices sign in again."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", help="JSON lines; - for the standard input")
        parser.add_argument("--farm", help="id of the farm, where there are several")
        parser.add_argument("--as-told", action="store_true", help="restore the farm of the file")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            if options["file"] == "-":
                self._take(sys.stdin, options)
            else:
                with Path(options["file"]).open(encoding="utf-8") as file:
                    self._take(file, options)
        except NotALog as refused:
            raise CommandError(str(refused)) from None
        except OSError as missing:
            raise CommandError(f"{options['file']} cannot be read: {missing.strerror}.") from None
        except UnicodeDecodeError:
            raise CommandError(f"{options['file']} is no UTF-8 text.") from None

    def _take(self, lines: Iterable[str], options: dict[str, Any]) -> None:
        if options["as_told"]:
            farm = import_as_told(lines)
            self.stdout.write(f"{farm.name} ({farm.pk}) restored with {farm.last_seq} records.")
            return
        farm = one_farm(options["farm"])
        verdicts = import_as_new(farm, lines, now=clock.in_ms(clock.now()))
        told = {
            word: sum(v.verdict == word for v in verdicts)
            for word in ("stored", "duplicate", "held")
        }
        self.stdout.write(
            f"{told['stored']} stored, {told['duplicate']} were there already,"
            f" {told['held']} set aside."
        )
