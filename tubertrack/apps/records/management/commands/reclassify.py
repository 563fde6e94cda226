"""manage.py reclassify: after an update, count what an older server had to set aside."""

from typing import Any

from django.core.management.base import BaseCommand

from tubertrack.apps.accounts import clock
from tubertrack.apps.accounts.models import Farm
from tubertrack.apps.records.reclassify import reclassify


class Command(BaseCommand):
    help = (
        "Run after an update (start does): entries that were set aside because this server did not"
        " know their kind or version count from now on, by a record that phones receive too."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        now = clock.in_ms(clock.now())
        for farm in Farm.objects.order_by("created_at"):
            count = reclassify(farm.pk, now=now)
            if count or options["verbosity"] > 1:
                self.stdout.write(f"{farm.name}: {count} entries are understood now.")
