"""How Django knows this room."""

from django.apps import AppConfig


class RecordsConfig(AppConfig):
    name = "tubertrack.apps.records"
    label = "records"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from tubertrack.apps.accounts import deliveries
        from tubertrack.apps.records.undelivered import delivered

        deliveries.told_by(delivered)
