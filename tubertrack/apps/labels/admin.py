"""Codes in Django's admin: to look at."""

from typing import Any, ClassVar

from django.contrib import admin
from django.http import HttpRequest

from tubertrack.apps.labels.models import IssuedCode


@admin.register(IssuedCode)
class IssuedCodeAdmin(admin.ModelAdmin):
    list_display = ("code", "farm", "issued_at")
    list_filter: ClassVar[list[str]] = ["farm"]
    search_fields = ("code",)

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, code: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, code: Any = None) -> bool:
        return False  # a code that was printed must never be made again
