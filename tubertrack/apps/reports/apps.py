"""How Django knows this room."""

from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "tubertrack.apps.reports"
    label = "reports"
    default_auto_field = "django.db.models.BigAutoField"
