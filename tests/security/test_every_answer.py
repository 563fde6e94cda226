"""What every answer carries, whoever made it: each address, method and file of the server."""

from __future__ import annotations

import pytest
from django.conf import settings as ours
from django.contrib import admin
from django.test import Client
from django.urls import get_resolver, path, reverse
from rest_framework.test import APIClient

from tests.api.test_walls import addresses, filled
from tubertrack.apps.accounts.models import User
from tubertrack.apps.accounts.services import create_farm, mint_start_link
from tubertrack.config.errors import PAGE_TOO_OLD, plain_error
from tubertrack.config.headers import ALWAYS, CONTENT_SECURITY_POLICY, PERMISSIONS_POLICY
from tubertrack.config.visitors import WAYS

METHODS = ("get", "head", "post", "put", "patch", "delete", "options", "trace")
# Sources: W3C CSP 3 for the directives; OWASP HTTP Headers Cheat Sheet for the rest, and its word on
# X-XSS-Protection: leave it out.
WANTED = {
    "Content-Security-Policy",
    "Permissions-Policy",
    "X-Content-Type-Options",
    "Referrer-Policy",
    "Cross-Origin-Opener-Policy",
    "Cross-Origin-Resource-Policy",
    "X-Frame-Options",
}


def lacking(response) -> list[str]:
    return [name for name, value in ALWAYS.items() if response.get(name) != value]


def test_the_list_of_headers_is_whole():
    assert WANTED == set(ALWAYS)


@pytest.mark.django_db
def test_every_address_in_every_method_carries_the_policies(farms):
    clients = {"nobody": APIClient(), "owner": farms.owner.client, "viewer": farms.viewer.client}
    asked = 0
    for address, _ in addresses():
        for who, client in clients.items():
            for method in METHODS:
                response = getattr(client, method)(filled(address))
                asked += 1
                assert [] == lacking(response), (who, method, address)
                assert "no-store" in response["Cache-Control"], (who, method, address)
    assert asked > 500


def files() -> list[str]:
    folder = ours.SPA_DIR
    built = [
        f"/{file.relative_to(folder).as_posix()}" for file in folder.rglob("*") if file.is_file()
    ]
    return [*built, "/", "/todo", "/static/admin/css/base.css", "/nothing.js", "/static/nothing"]


@pytest.mark.django_db
def test_every_file_of_the_app_carries_the_policies(client):
    assert len(files()) > 20
    for name in files():
        assert [] == lacking(client.get(name)), name


@pytest.mark.django_db
def test_every_page_of_the_admin_carries_the_policies(client, farms):
    pages = [
        reverse(f"admin:{model._meta.app_label}_{model._meta.model_name}_{page}")
        for model in admin.site._registry
        for page in ("changelist", "add")
    ]
    pages += [reverse("admin:index"), reverse("admin:login"), "/admin/nothing/"]
    client.force_login(User.objects.create_superuser("op", password="not used here"))
    for page in pages:
        assert [] == lacking(client.get(page)), page
        assert [] == lacking(Client().get(page)), page


@pytest.mark.django_db
def test_redirects_carry_the_policies(client, settings):
    from tubertrack.apps.accounts import clock

    own = create_farm(name="Own", time_zone="UTC", owner_name="Ana")
    link = mint_start_link("", now=clock.now(), farm=own)
    answer = client.get(link)
    assert 302 == answer.status_code
    assert [] == lacking(answer)
    assert [] == lacking(client.get("/start/none-of-ours"))
    settings.SECURE_SSL_REDIRECT = True
    answer = Client().get("/api/session/")
    assert (301, "https://testserver/api/session/") == (answer.status_code, answer["Location"])
    assert [] == lacking(answer)


def fails(request):
    raise RuntimeError("meant")


urlpatterns = [
    path("api/fails/", fails),
    path("fails/", fails),
]
handler404, handler500 = plain_error(404), plain_error(500)


@pytest.mark.parametrize("address", ["/api/fails/", "/fails/"])
def test_a_mistake_of_ours_carries_the_policies_and_tells_nothing(settings, address):
    settings.ROOT_URLCONF = __name__
    client = Client(raise_request_exception=False)
    answer = client.get(address)
    assert 500 == answer.status_code
    assert [] == lacking(answer)
    assert b"meant" not in answer.content
    assert [] == lacking(client.get("/not/here/at-all"))


@pytest.mark.django_db
def test_hsts_is_promised_by_https_alone_and_with_errors_too(settings):
    settings.SECURE_HSTS_SECONDS = WAYS["1"].hsts_s
    settings.SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    client = Client()
    for address in ("/", "/api/session/", "/api/nothing/", "/nothing.js", "/admin/login/"):
        told = client.get(address, HTTP_X_FORWARDED_PROTO="https")
        assert "max-age=31536000" == told["Strict-Transport-Security"], address
        assert "Strict-Transport-Security" not in client.get(address), address


def test_the_policy_allows_nothing_inline_and_no_other_host():
    told = {
        part.split()[0]: part.split()[1:]
        for part in (each.strip() for each in CONTENT_SECURITY_POLICY.split(";"))
    }
    assert ["'none'"] == told["default-src"]
    for name in ("frame-ancestors", "base-uri"):  # neither falls back on default-src
        assert ["'none'"] == told[name]
    words = {word for values in told.values() for word in values}
    assert {"'none'", "'self'", "'wasm-unsafe-eval'", "data:", "blob:"} == words
    assert ["'self'", "'wasm-unsafe-eval'"] == told["script-src"]


def test_only_the_apps_own_pages_may_use_the_camera_and_nothing_watches_or_pays():
    told = dict(part.split("=", 1) for part in PERMISSIONS_POLICY.split(", "))
    assert "(self)" == told["camera"]
    for name in ("microphone", "geolocation", "payment", "usb", "bluetooth", "display-capture"):
        assert "()" == told[name]
    assert {"(self)", "()"} == set(told.values())


# ---- a session writes only from our own pages

UNSAFE = ("post", "put", "patch", "delete")
# Let in by a secret in the body that no other site knows, and by no cookie.
BY_SECRET = {"api/pair/"}


def refusal(response) -> str:
    if response.status_code < 400:
        return ""
    if response["Content-Type"] == "application/json":
        return response.json()["code"]
    return (
        "page_too_old" if PAGE_TOO_OLD in response.content.decode() else response.content.decode()
    )


@pytest.mark.django_db
def test_no_session_writes_without_its_token(farms):
    client = APIClient(enforce_csrf_checks=True)
    client.force_login(farms.farm.members.get(name="Ana").user)
    guarded = []
    for address, _ in addresses():
        for method in UNSAFE:
            answer = getattr(client, method)(filled(address), {}, format="json")
            if address in BY_SECRET and answer.status_code in (400, 429):
                continue
            code = refusal(answer)
            assert code in {
                "page_too_old",
                "not_signed_in",
                "not_permitted",
                "method_not_allowed",
            }, (
                method,
                address,
                answer.status_code,
                code,
            )
            if code == "page_too_old":
                guarded.append((method, address))
    assert {("post", "api/farms/"), ("post", "api/devices/")} <= set(guarded)
    assert guarded_lets_in(client, guarded) == []


def guarded_lets_in(client, guarded) -> list[str]:
    """Guarded addresses that refuse for the token's sake although it is there."""
    token = client.get("/api/session/").json()["csrf"]
    wrong = []
    for method, address in guarded:
        told = getattr(client, method)(filled(address), {}, format="json", HTTP_X_CSRFTOKEN=token)
        if refusal(told) == "page_too_old":
            wrong.append(f"{method} {address}")
        if address == "api/sign-out/":
            token = client.get("/api/session/").json()["csrf"]
    return wrong


@pytest.mark.django_db
def test_no_form_of_the_admin_is_taken_without_its_token(farms):
    client = Client(enforce_csrf_checks=True)
    client.force_login(User.objects.create_superuser("op", password="not used here"))
    for model in admin.site._registry:
        name = f"admin:{model._meta.app_label}_{model._meta.model_name}"
        for page in (reverse(f"{name}_add"), reverse(f"{name}_changelist")):
            assert 403 == client.post(page, {}).status_code, page
    assert 403 == client.post(reverse("admin:login"), {}).status_code
    assert 403 == client.post(reverse("admin:logout"), {}).status_code


@pytest.mark.django_db
def test_a_session_alone_reads_and_writes_nothing_of_the_farm(farms):
    """A cookie goes along with any request; the token of a device does not."""
    client = APIClient()
    client.force_login(farms.farm.members.get(name="Ana").user)
    for address, view in addresses():
        if getattr(getattr(view, "cls", None), "least_role", {}).get("GET"):
            assert 401 == client.get(filled(address)).status_code, address


def test_the_walk_knows_the_whole_resolver():
    assert len(list(addresses())) > 30
    assert len(get_resolver().url_patterns) >= 8
