"""Accounts in Django's admin."""

from typing import Any, ClassVar

from django.contrib import admin
from django.contrib.admin.forms import AdminAuthenticationForm
from django.contrib.auth.admin import UserAdmin
from django.core.exceptions import ValidationError
from django.http import HttpRequest

from tubertrack.apps.accounts import clock, tries
from tubertrack.apps.accounts.models import Buyer, Device, Farm, Member, Price, Sale, Tries, User
from tubertrack.apps.accounts.passwords import tries_of


class CountedLogin(AdminAuthenticationForm):
    """The admin's form is a second door to the same passwords: tries count here as well."""

    def clean(self) -> dict[str, Any]:
        if self.request is None:
            return super().clean()
        asked = tries_of(self.request, str(self.data.get("username", "")))
        try:
            tries.begin(asked, now=clock.now())
        except tries.TooManyTries as refused:
            raise ValidationError(str(refused.detail)) from refused
        told = super().clean()
        tries.right(asked, forgiven=tries.BY_NAME, now=clock.now())
        return told


admin.site.login_form = CountedLogin
admin.site.register(User, UserAdmin)


@admin.register(Farm)
class FarmAdmin(admin.ModelAdmin):
    list_display = ("name", "time_zone", "last_seq", "created_at")
    readonly_fields = ("last_seq", "as_of")

    def has_delete_permission(self, request: HttpRequest, farm: Any = None) -> bool:
        return False  # erase-farm also erases the record log


@admin.register(Member)
class MemberAdmin(admin.ModelAdmin):
    list_display = ("name", "farm", "role", "active", "erased")
    list_filter: ClassVar[list[str]] = ["farm", "role"]

    def has_delete_permission(self, request: HttpRequest, member: Any = None) -> bool:
        return False  # entries name them by id; erase-person takes the name


@admin.register(Device)
class DeviceAdmin(admin.ModelAdmin):
    list_display = ("name", "farm", "member", "sort", "revoked_at", "last_heard_at", "waiting")
    list_filter: ClassVar[list[str]] = ["farm", "sort"]
    readonly_fields = ("app", "waiting", "waiting_at", "last_heard_at")

    def has_delete_permission(self, request: HttpRequest, device: Any = None) -> bool:
        return False  # entries name it; revoke it


@admin.register(Buyer)
class BuyerAdmin(admin.ModelAdmin):
    list_display = ("name", "farm", "contact")
    list_filter: ClassVar[list[str]] = ["farm"]


@admin.register(Sale)
class SaleAdmin(admin.ModelAdmin):
    list_display = ("uid", "farm", "buyer", "price_minor", "currency")
    list_filter: ClassVar[list[str]] = ["farm", "currency"]


@admin.register(Price)
class PriceAdmin(admin.ModelAdmin):
    list_display = ("variety", "unit", "price_minor", "currency", "farm")
    list_filter: ClassVar[list[str]] = ["farm", "unit"]


@admin.register(Tries)
class TriesAdmin(admin.ModelAdmin):
    """To let somebody in who waits: delete the row. Whose it is cannot be read from it."""

    list_display = ("door", "wrong", "last_at", "free_at")

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, row: Any = None) -> bool:
        return False
