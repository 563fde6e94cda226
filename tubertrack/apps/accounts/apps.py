"""How Django knows this room."""

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    name = "tubertrack.apps.accounts"
    label = "accounts"
    default_auto_field = "django.db.models.BigAutoField"
