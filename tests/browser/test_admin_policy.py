"""Django's admin works under the app's own policy: nothing of it is blocked, so nothing is loosened."""

from __future__ import annotations

import pytest
from django.contrib import admin
from django.test import Client
from django.urls import reverse
from playwright.sync_api import expect

from tests import farms as people
from tests.api.conftest import stock


@pytest.fixture(autouse=True)
def _without_a_picture(watcher):
    """The admin names no icon, so browsers ask for the usual one, which is not there."""
    watcher.expect(r"favicon\.ico")


@pytest.fixture
def operator(new_phone, farm, address):
    """A browser in which the operator of the server is signed in."""
    from tubertrack.apps.accounts.models import User

    stock(people.phone_of(farm.members.get(role="owner")), 2)
    client = Client()
    client.force_login(User.objects.create_superuser("op", password="not used here"))
    desk = new_phone(desk=True)
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": address}
    desk.context.add_cookies([cookie])
    return desk


def test_every_list_and_form_of_the_admin_runs_under_the_policy(operator):
    """The watcher of the rig fails this test when the policy blocks a part of a page."""
    page = operator.page
    operator.go(reverse("admin:index"))
    expect(page.get_by_role("heading", name="Site administration")).to_be_visible()
    for model in admin.site._registry:
        name = f"admin:{model._meta.app_label}_{model._meta.model_name}"
        operator.go(reverse(f"{name}_changelist"))
        expect(page.locator("#changelist")).to_be_visible()
        first = model._default_manager.first()
        if first is not None:
            operator.go(reverse(f"{name}_change", args=[first.pk]))
            expect(page.locator("#content")).to_be_visible()
    operator.shot("admin", whole=True)


def test_the_door_of_the_admin_runs_under_the_policy(new_phone, farm):
    desk = new_phone(desk=True)
    desk.go(reverse("admin:login"))
    expect(desk.page.get_by_label("Username")).to_be_visible()
