"""How Django knows this room."""

from django.apps import AppConfig


class SyncConfig(AppConfig):
    name = "tubertrack.apps.sync"
    label = "sync"
    default_auto_field = "django.db.models.BigAutoField"
