"""The record log in Django's admin: to look at, never to change."""

from typing import Any, ClassVar

from django.contrib import admin
from django.http import HttpRequest

from tubertrack.apps.records import models


class ReadOnlyAdmin(admin.ModelAdmin):
    """Nobody adds, changes or deletes here: the only way to change stock is a record."""

    list_filter: ClassVar[list[str]] = ["farm"]

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, row: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, row: Any = None) -> bool:
        return False


@admin.register(models.Record)
class RecordAdmin(ReadOnlyAdmin):
    list_display = ("seq", "farm", "kind", "occurred_on", "role", "held")
    list_filter: ClassVar[list[str]] = ["farm", "held", "kind"]
    exclude = ("raw", "chain")


@admin.register(
    models.Check,
    models.Crate,
    models.HeldEntry,
    models.Lot,
    models.Method,
    models.Place,
    models.Planting,
    models.Posting,
    models.Problem,
    models.Reading,
    models.Setting,
    models.Stay,
    models.Variety,
)
class RowAdmin(ReadOnlyAdmin):
    list_display = ("uid", "farm")
    search_fields = ("uid",)
