"""How Django knows this room."""

from django.apps import AppConfig


class ExchangeConfig(AppConfig):
    name = "tubertrack.apps.exchange"
    label = "exchange"
    default_auto_field = "django.db.models.BigAutoField"
