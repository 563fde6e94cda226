"""Django's admin shows the log and changes nothing in it."""

import pytest
from django.contrib import admin
from django.urls import reverse

from tests.api.conftest import stock
from tubertrack.apps.accounts.models import User
from tubertrack.apps.records.admin import ReadOnlyAdmin
from tubertrack.apps.records.models import Record

pytestmark = pytest.mark.django_db


@pytest.fixture
def operator(client, farms):
    stock(farms.owner, 1)
    client.force_login(User.objects.create_superuser("op", password="not used here"))
    return client


def registered():
    return sorted(admin.site._registry, key=lambda model: model._meta.label)


@pytest.mark.parametrize("model", registered(), ids=lambda model: model._meta.label)
def test_every_list_opens(operator, model):
    name = f"admin:{model._meta.app_label}_{model._meta.model_name}"
    assert 200 == operator.get(reverse(f"{name}_changelist")).status_code
    first = model._default_manager.first()
    if first is not None:
        assert 200 == operator.get(reverse(f"{name}_change", args=[first.pk])).status_code


@pytest.mark.parametrize(
    "model",
    [model for model in registered() if model._meta.app_label == "records"],
    ids=lambda model: model._meta.label,
)
def test_no_row_of_the_log_can_be_added_changed_or_deleted(operator, model):
    assert isinstance(admin.site._registry[model], ReadOnlyAdmin)
    name = f"admin:records_{model._meta.model_name}"
    assert 403 == operator.get(reverse(f"{name}_add")).status_code
    first = model._default_manager.first()
    if first is not None:
        before = Record.objects.count()
        assert 403 == operator.post(reverse(f"{name}_change", args=[first.pk]), {}).status_code
        deleting = reverse(f"{name}_delete", args=[first.pk])
        assert 403 == operator.post(deleting, {"post": "yes"}).status_code
        assert before == Record.objects.count()


def test_a_farm_is_not_deleted_by_a_click(operator, farms):
    deleting = reverse("admin:accounts_farm_delete", args=[farms.farm.pk])
    assert 403 == operator.post(deleting, {"post": "yes"}).status_code


def test_an_owner_is_no_operator(client, farms):
    client.force_login(farms.farm.members.get(name="Ana").user)
    assert 302 == client.get("/admin/").status_code
