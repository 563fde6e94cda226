"""How Django knows this room."""

from django.apps import AppConfig


class LabelsConfig(AppConfig):
    name = "tubertrack.apps.labels"
    label = "labels"
    default_auto_field = "django.db.models.BigAutoField"
