"""Owners at a screen: start links, names and passwords, sessions and their ends."""

import pytest
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.contrib.sessions.models import Session
from django.core.management import CommandError, call_command
from django.test import Client, RequestFactory
from rest_framework.test import APIClient

from tubertrack.apps.accounts import clock, passwords, services
from tubertrack.apps.accounts.models import Member, Tries, User
from tubertrack.apps.accounts.whereabouts import place_of

pytestmark = pytest.mark.django_db
GOOD = "quarrel-lantern-heron"
BETTER = "another-lantern-heron"


class QuickHasher(Argon2PasswordHasher):
    """The real hasher at its least cost."""

    time_cost, memory_cost, parallelism = 1, 8, 1


@pytest.fixture(autouse=True)
def quick(settings):
    settings.PASSWORD_HASHERS = [f"{QuickHasher.__module__}.QuickHasher"]


def refused(response, status, code):
    assert (status, code) == (response.status_code, response.json()["code"])
    assert response.json()["message"]
    return response.json()


def browser() -> Client:
    return Client(enforce_csrf_checks=True)


def session(client):
    return client.get("/api/session/").json()


def post(client, path, told, **headers):
    headers = {"X-CSRFToken": session(client)["csrf"], **headers}
    return client.post(path, told, content_type="application/json", headers=headers)


def sign_in(client, name="owner", password=GOOD, **headers):
    return post(client, "/api/sign-in/", {"name": name, "password": password}, **headers)


def by_link() -> Client:
    client = browser()
    client.get(services.mint_start_link("", now=clock.now()))
    return client


@pytest.fixture
def owner(db):
    """A browser that came by the start link and chose the first password."""
    client = by_link()
    assert 200 == post(client, "/api/password/", {"new_password": GOOD}).status_code
    return client


def test_the_start_link_lets_choose_the_first_password(db):
    client = by_link()
    told = session(client)
    assert (True, False, False) == (
        told["signed_in"],
        told["has_password"],
        told["old_password_needed"],
    )
    answer = post(client, "/api/password/", {"new_password": GOOD, "name": "Ana"}).json()
    assert ("ana", True, True) == (
        answer["name"],
        answer["has_password"],
        answer["old_password_needed"],
    )
    assert "owner" == answer["farms"][0]["role"]
    desk = browser()
    answer = sign_in(desk, "Ana")
    assert (200, True) == (answer.status_code, answer.json()["signed_in"])
    masked = {"csrf": ""}  # the same token is written differently each time
    assert {**session(desk), **masked} == {**answer.json(), **masked}


def test_the_machine_s_link_still_works_when_the_owner_has_another_name(owner):
    post(owner, "/api/password/", {"new_password": BETTER, "old_password": GOOD, "name": "Ana"})
    again = by_link()
    assert ("ana", True) == (session(again)["name"], session(again)["signed_in"])
    assert 1 == User.objects.count()


def test_a_forgotten_password_is_replaced_by_a_printed_link(owner, capsys):
    call_command("sign_in_link", "OWNER", address="http://farm.lan:8000/")
    link = capsys.readouterr().out.strip()
    assert link.startswith("http://farm.lan:8000/start/")
    client = browser()
    client.get(link.removeprefix("http://farm.lan:8000"))
    assert not session(client)["old_password_needed"]
    assert 200 == post(client, "/api/password/", {"new_password": BETTER}).status_code
    assert 200 == sign_in(browser(), password=BETTER).status_code
    refused(sign_in(browser()), 403, "wrong_name_or_password")


def test_a_link_proves_who_it_is_for_an_hour(owner):
    client = by_link()
    kept = client.session
    kept["came_by_link_ms"] -= int(passwords.LINK_STANDS_FOR_PASSWORD.total_seconds() * 1000)
    kept.save()
    assert session(client)["old_password_needed"]
    refused(post(client, "/api/password/", {"new_password": BETTER}), 403, "wrong_password")


def test_an_owner_without_a_user_gets_one_by_the_printed_link(farms, capsys):
    Member.objects.create(farm=farms.farm, name="Una Ash", role="owner")
    call_command("sign_in_link", "una ash")
    client = browser()
    client.get("/start/" + capsys.readouterr().out.strip().rsplit("/", 1)[1])
    assert ("una ash", [str(farms.farm.pk)]) == (
        session(client)["name"],
        [farm["id"] for farm in session(client)["farms"]],
    )


@pytest.mark.parametrize("name", ["Zelka", "Ben", ""])
def test_the_link_is_for_owners_and_says_who_they_are(farms, name):
    with pytest.raises(CommandError, match="Ana on Tarrowby"):
        call_command("sign_in_link", name)


def test_a_wrong_name_and_a_wrong_password_sound_the_same(owner):
    wrong_name = refused(sign_in(browser(), "zelka"), 403, "wrong_name_or_password")
    wrong_password = refused(sign_in(browser(), password="no"), 403, "wrong_name_or_password")
    assert wrong_name == wrong_password


def test_a_page_elsewhere_signs_nobody_in(owner):
    client = browser()
    told = {"name": "owner", "password": GOOD}
    kinds = ({"content_type": "application/json"}, {})
    for kind in kinds:
        assert 403 == client.post("/api/sign-in/", told, **kind).status_code
    assert not session(client)["signed_in"]
    answer = sign_in(client, Origin="https://elsewhere.example")
    assert 403 == answer.status_code
    assert not session(client)["signed_in"]


@pytest.mark.parametrize("path", ["/api/sign-out/", "/api/password/", "/api/farms/"])
def test_a_page_elsewhere_writes_nothing_in_a_session(owner, path):
    told = {"new_password": BETTER, "old_password": GOOD, "name": "x", "time_zone": "UTC"}
    assert 403 == owner.post(path, told, content_type="application/json").status_code
    assert session(owner)["signed_in"]
    assert 200 == sign_in(browser()).status_code


def test_a_session_gets_another_key_when_somebody_signs_in(owner):
    client = browser()
    planted = client.session
    planted["x"] = 1
    planted.save()
    client.cookies["sessionid"] = planted.session_key
    assert 200 == sign_in(client).status_code
    assert planted.session_key != client.cookies["sessionid"].value
    assert not Session.objects.filter(pk=planted.session_key).exists()


def test_a_new_password_ends_every_other_session_and_changes_this_one_s_key(owner):
    other = browser()
    sign_in(other)
    before = owner.cookies["sessionid"].value
    told = {"new_password": BETTER, "old_password": GOOD}
    assert 200 == post(owner, "/api/password/", told).status_code
    assert session(owner)["signed_in"]
    assert before != owner.cookies["sessionid"].value
    assert not session(other)["signed_in"]


def test_signing_out_ends_the_session_and_no_device(owner):
    farm = session(owner)["farms"][0]["id"]
    token = post(owner, "/api/devices/", {"farm": farm, "name": "Desk"}).json()["token"]
    key = owner.cookies["sessionid"].value
    answer = post(owner, "/api/sign-out/", {})
    assert (200, False) == (answer.status_code, answer.json()["signed_in"])
    assert not Session.objects.filter(pk=key).exists()
    device = APIClient()
    device.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    assert 200 == device.get("/api/farm/").status_code


def test_cookies_are_no_script_s_and_no_other_site_s(owner):
    kept = owner.cookies["sessionid"]
    assert (True, "Lax") == (kept["httponly"], kept["samesite"])


def test_too_many_tries_say_how_long_to_wait(owner):
    client = browser()
    for _ in range(5):
        refused(sign_in(client, password="no"), 403, "wrong_name_or_password")
    answer = sign_in(client)
    told = refused(answer, 429, "too_many_tries")
    assert 1 == told["retry_after_s"] == int(answer["Retry-After"])
    assert "1 second" in told["message"]
    Tries.objects.all().delete()
    assert 200 == sign_in(client).status_code


def test_the_admin_s_form_counts_tries_too(owner):
    User.objects.create_superuser("op", password=GOOD)
    told = {"username": "op", "password": "no"}
    for _ in range(5):
        assert b"correct" in Client().post("/admin/login/", told).content
    told["password"] = GOOD
    answer = Client().post("/admin/login/", told)
    assert (200, True) == (answer.status_code, b"Too many wrong tries" in answer.content)
    Tries.objects.all().delete()
    assert 302 == Client().post("/admin/login/", told).status_code
    assert 0 == Tries.objects.filter(wrong__gt=0).count()


@pytest.mark.parametrize(
    ("told", "field"),
    [
        ({"new_password": "short"}, "new_password"),
        ({"new_password": "x" * 1025}, "new_password"),
        ({"new_password": "quarrel\0lantern"}, "new_password"),
        ({"old_password": GOOD}, "new_password"),
        ({"new_password": GOOD, "name": "x" * 151}, "name"),
    ],
)
def test_a_bad_password_or_name_is_said_at_its_field(db, told, field):
    answer = post(by_link(), "/api/password/", told)
    assert 400 == answer.status_code
    assert answer.json()["fields"][field]


def test_a_taken_name_is_refused(owner, farms):
    told = {"new_password": BETTER, "old_password": GOOD, "name": "Ana"}
    refused(post(owner, "/api/password/", told), 409, "name_taken")


def told_by_proxy(address, forwarded):
    return RequestFactory().get("/", REMOTE_ADDR=address, HTTP_X_FORWARDED_FOR=forwarded)


def test_a_forwarded_address_is_believed_only_of_a_proxy_of_ours(settings):
    request = told_by_proxy("127.0.0.1", "203.0.113.9, 198.51.100.7")
    settings.REST_FRAMEWORK = {**settings.REST_FRAMEWORK, "NUM_PROXIES": 0}
    assert "127.0.0.1" == place_of(request)
    settings.REST_FRAMEWORK = {**settings.REST_FRAMEWORK, "NUM_PROXIES": 1}
    assert "198.51.100.7" == place_of(request)
    assert "127.0.0.1" == place_of(RequestFactory().get("/", REMOTE_ADDR="127.0.0.1"))


# 2001:db8::/32 is for documentation (RFC 3849); ::ffff:0:0/96 is IPv4 (RFC 4291, 2.5.5.2).
@pytest.mark.parametrize(
    ("address", "place"),
    [
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("2001:db8:1:2:ffff::1", "2001:db8:1:2::/64"),
        ("2001:db8:1:3::1", "2001:db8:1:3::/64"),
        ("fe80::1%eth0", "fe80::/64"),
        ("::ffff:198.51.100.7", "198.51.100.7"),
        ("198.51.100.7", "198.51.100.7"),
        ("", ""),
        ("no address", "no address"),
    ],
)
def test_one_visitor_of_ipv6_is_a_whole_network(address, place):
    assert place == place_of(RequestFactory().get("/", REMOTE_ADDR=address))
