"""The table of who may do what at the addresses of accounts, row by row."""

import json
from pathlib import Path

import pytest
from django.urls import reverse

from tests.farms import crate_id
from tubertrack.apps.accounts import may, urls
from tubertrack.apps.accounts.auth import FarmView
from tubertrack.core.stock.kinds import roles

pytestmark = pytest.mark.django_db

TABLE = json.loads(Path(may.__file__).with_suffix(".json").read_text("utf-8"))
ROWS = [
    (name, method, least)
    for name, methods in TABLE.items()
    if name != "why"
    for method, least in methods.items()
]
BEHIND = {
    p.name: p for p in urls.urlpatterns if issubclass(getattr(p.callback, "cls", int), FarmView)
}


def test_every_address_behind_the_wall_has_its_row_and_no_other():
    assert set(BEHIND) == may.names()


@pytest.mark.parametrize("name", sorted(may.names()))
def test_views_read_the_table(name):
    assert TABLE[name] == BEHIND[name].callback.cls.least_role == may.least_role(name)
    methods = {one.upper() for one in ("get", "post", "put", "patch", "delete")}
    handled = {one for one in methods if hasattr(BEHIND[name].callback.cls, one.lower())}
    entered_by_session = {"POST"} if name == "devices" else set()
    assert handled == set(TABLE[name]) | entered_by_session


def path_of(name):
    taken = BEHIND[name].pattern.converters
    return reverse(name, kwargs=dict.fromkeys(taken, crate_id(999)))


@pytest.mark.parametrize(("name", "method", "least"), ROWS)
@pytest.mark.parametrize("role", ["viewer", "helper", "grower", "owner"])
def test_a_row_holds_for_a_role(farms, name, method, least, role):
    answer = getattr(getattr(farms, role).client, method.lower())(path_of(name), {})
    barred = answer.status_code == 403 and answer.json()["code"] == "not_permitted"
    assert barred == (roles().index(role) < roles().index(least))
