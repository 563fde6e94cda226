"""manage.py rebuild: works the projected tables out anew from the log."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from tubertrack.apps.records.management.farms import chosen_farms
from tubertrack.apps.records.services import rebuild


class Command(BaseCommand):
    help = (
        "Works every projected row (crates, lots, checks …) out anew from the record log, which is"
        " not touched, and says in which tables a row differed. None should."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--farm", help="id of one farm; all farms without it")
        parser.add_argument(
            "--check", action="store_true", help="end with an error when anything differed"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        differed = False
        for farm in chosen_farms(options["farm"]):
            tables = rebuild(farm.pk)
            differed = differed or bool(tables)
            told = "differed in: " + ", ".join(tables) if tables else "no row differed"
            self.stdout.write(f"{farm.name} ({farm.pk}), {farm.last_seq} records: {told}")
        if differed and options["check"]:
            raise CommandError("Some rows were not what the records say. They are now.")
