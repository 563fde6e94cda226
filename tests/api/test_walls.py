"""Every address of the server: who may, and that nothing of another farm ever shows.

A new address without a row here fails.
"""

import re

import pytest
from django.urls import URLPattern, URLResolver, get_resolver
from rest_framework.test import APIClient

from tests.api.conftest import stock
from tests.farms import crate_id, lot_id
from tubertrack.apps.accounts.auth import FarmView
from tubertrack.core.stock.kinds import roles

pytestmark = pytest.mark.django_db

# address → least role by method. "" is for anybody, "session" for a signed-in owner's browser.
LEAST: dict[str, dict[str, str]] = {
    "start/<str:token>": {"GET": ""},
    "api/schema/": {"GET": ""},
    "api/session/": {"GET": ""},
    "api/pair/": {"POST": ""},
    "api/sign-in/": {"POST": ""},
    "api/sign-out/": {"POST": "session"},
    "api/password/": {"POST": "session"},
    "api/farms/": {"POST": "session"},
    "api/devices/": {"GET": "viewer", "POST": "session"},
    "api/farm/": {"GET": "viewer"},
    "api/devices/<uuid:device_id>/": {"PATCH": "viewer"},
    "api/devices/<uuid:device_id>/revoke/": {"POST": "owner"},
    "api/devices/<uuid:device_id>/release/": {"POST": "owner"},
    "api/pairing/": {"POST": "owner"},
    "api/members/": {"GET": "viewer", "POST": "owner"},
    "api/members/<uuid:member_id>/": {"PATCH": "owner"},
    "api/members/<uuid:member_id>/erase/": {"POST": "owner"},
    "api/buyers/": {"GET": "grower", "POST": "grower"},
    "api/buyers/<uuid:buyer_id>/": {"PATCH": "grower", "DELETE": "grower"},
    "api/sales/": {"GET": "grower", "POST": "grower"},
    "api/sales/<uuid:sale_id>/": {"PATCH": "grower", "DELETE": "grower"},
    "api/prices/": {"GET": "grower", "POST": "grower"},
    "api/prices/<uuid:price_id>/": {"PATCH": "grower", "DELETE": "grower"},
    "sync/v1/push": {"POST": "viewer"},
    "sync/v1/pull": {"GET": "viewer"},
    **{
        f"api/{name}/": {"GET": "viewer"}
        for name in (
            [
                "varieties",
                "places",
                "methods",
                "crates",
                "lots",
                "checks",
                "readings",
                "plantings",
                "problems",
            ]
        )
    },
    "api/records/": {"GET": "viewer", "POST": "helper"},
    **{
        f"api/{name}/(?P<id>[^/]+)/": {"GET": "viewer"}
        for name in (
            [
                "varieties",
                "places",
                "methods",
                "crates",
                "lots",
                "checks",
                "readings",
                "plantings",
                "problems",
                "records",
            ]
        )
    },
    "api/undelivered/": {"GET": "viewer"},
    "api/labels/stocks/": {"GET": "viewer"},
    "api/labels/pdf/": {"POST": "helper"},
    "api/labels/blanks/": {"POST": "helper"},
    "api/labels/calibration/": {"GET": "viewer"},
    "api/reports/losses/": {"GET": "viewer"},
    "api/reports/losses.csv": {"GET": "viewer"},
    "api/reports/losses.pdf": {"GET": "viewer"},
}


def addresses(patterns=None, before=""):
    """(address, view) of everything the server answers under /api, /sync, /start and /trust."""
    for pattern in get_resolver().url_patterns if patterns is None else patterns:
        path = before + re.sub(r"^\^|\\Z$|\$$", "", str(pattern.pattern))
        if isinstance(pattern, URLResolver):
            if not path.startswith("admin"):
                yield from addresses(pattern.url_patterns, path)
        elif isinstance(pattern, URLPattern) and pattern.name != "app":
            yield path, pattern.callback


def filled(path: str) -> str:
    """The address with an id that nobody has for each of its parts."""
    return "/" + re.sub(r"\(\?P<\w+>[^)]*\)|<[^>]*>", "00000000-0000-4000-8000-000000000001", path)


def call(client, method, path):
    return getattr(client, method.lower())(filled(path), data={}, format="json")


def behind_the_wall():
    return [
        (path, method, least)
        for path, methods in LEAST.items()
        for method, least in methods.items()
        if least in roles()
    ]


def test_every_address_has_a_row():
    assert set(LEAST) == {path for path, _ in addresses()}


def test_the_views_say_the_same_as_the_table():
    for path, view in addresses():
        said = getattr(getattr(view, "cls", None), "least_role", None)
        if said is not None:
            wanted = {m: least for m, least in LEAST[path].items() if least in roles()}
            actions = getattr(view, "actions", None)
            allowed = {name.upper() for name in actions} if actions else set(said)
            assert wanted == {m: least for m, least in said.items() if m in allowed}, path


def test_every_view_with_a_role_stands_behind_the_farm_wall():
    for path, view in addresses():
        if any(least in roles() for least in LEAST[path].values()):
            assert issubclass(view.cls, FarmView), path


@pytest.mark.parametrize(("path", "method", "least"), behind_the_wall())
def test_nobody_enters_without_a_token(db, path, method, least):
    answer = call(APIClient(), method, path)
    assert (401, "not_signed_in") == (answer.status_code, answer.json()["code"])


@pytest.mark.parametrize(("path", "method", "least"), behind_the_wall())
def test_a_role_below_the_least_is_refused_and_the_least_is_not(farms, path, method, least):
    for role, phone in farms.phones.items():
        answer = call(phone.client, method, path)
        enough = roles().index(role) >= roles().index(least)
        refused = answer.status_code == 403 and answer.json()["code"] == "not_permitted"
        assert refused != enough, (role, answer.status_code)


@pytest.mark.parametrize(
    "path", [path for path, methods in LEAST.items() if "session" in methods.values()]
)
def test_a_browser_must_be_signed_in(db, path):
    answer = call(APIClient(), "POST", path)
    assert answer.status_code in (401, 403)


def test_the_same_ids_on_two_farms_are_two_things(farms):
    stock(farms.owner, 1)
    stock(farms.cleo, 5)
    client = farms.owner.client
    body = {"table": "crates", "row": crate_id(1), "field": "number", "value": "77"}
    client.post("/api/records/", {"kind": "field_set", "body": body, "client_key": "k"})
    assert "77" == client.get(f"/api/crates/{crate_id(1)}/").json()["number"]
    assert "01" == farms.cleo.client.get(f"/api/crates/{crate_id(1)}/").json()["number"]
    assert 9 == farms.cleo.client.get(f"/api/lots/{lot_id(1)}/").json()["balance"]
