"""Accounts in Django's admin."""

from typing import Any, ClassVar

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.http import HttpRequest

from tubertrack.apps.accounts.models import Device, Farm, Member, User

admin.site.register(User, UserAdmin)


@admin.register(Farm)
class FarmAdmin(admin.ModelAdmin):
    list_display = ("name", "time_zone", "last_seq", "created_at")
    readonly_fields = ("last_seq", "as_of")

    def has_delete_permission(self, request: HttpRequest, farm: Any = None) -> bool:
        return False  # erase-farm also erases the record log


@admin.register(Member)
class MemberAdmin(admin.ModelAdmin):
    list_display = ("name", "farm", "role", "active")
    list_filter: ClassVar[list[str]] = ["farm", "role"]


@admin.register(Device)
class DeviceAdmin(admin.ModelAdmin):
    list_display = ("name", "farm", "member", "sort", "revoked_at", "last_heard_at")
    list_filter: ClassVar[list[str]] = ["farm", "sort"]
