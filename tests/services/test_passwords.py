"""Names and passwords: who they let in, how guessing is slowed, and what a change ends."""

from datetime import UTC, datetime, timedelta

import pytest
from django.contrib.auth.hashers import Argon2PasswordHasher, identify_hasher
from django.test import RequestFactory

from tubertrack.apps.accounts import passwords, services, tries
from tubertrack.apps.accounts.models import StartLink, Tries, User

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 14, 10, tzinfo=UTC)
GOOD = "quarrel-lantern-heron"


class QuickHasher(Argon2PasswordHasher):
    """The real hasher at its least cost; it also tells how often it worked."""

    time_cost, memory_cost, parallelism = 1, 8, 1
    worked = 0

    def encode(self, password, salt):
        QuickHasher.worked += 1
        return super().encode(password, salt)

    def verify(self, password, encoded):
        QuickHasher.worked += 1
        return super().verify(password, encoded)


@pytest.fixture(autouse=True)
def quick(settings):
    usual = settings.PASSWORD_HASHERS
    settings.PASSWORD_HASHERS = [f"{QuickHasher.__module__}.QuickHasher"]
    return usual


@pytest.fixture
def ana(farms):
    user = farms.farm.members.get(name="Ana").user
    return choose(user, GOOD)


def choose(user, new, **told):
    usual = {"old_password": "", "name": "", "proved_by_link": False, "now": NOW}
    return passwords.choose_password(user, new_password=new, **{**usual, **told})


def sign_in(name, password, *, now=NOW, place="198.51.100.7", **headers):
    request = RequestFactory().post("/api/sign-in/", REMOTE_ADDR=place, **headers)
    return passwords.sign_in(request, name=name, password=password, now=now)


def fails(name, password, refusal=passwords.WrongNameOrPassword, **told):
    with pytest.raises(refusal) as refused:
        sign_in(name, password, **told)
    return refused.value


def test_the_right_name_and_password_let_in(ana):
    assert ana == sign_in("ana", GOOD)
    fails("ana", GOOD + " ")
    fails("ana", GOOD.upper())
    fails("cleo", GOOD)
    fails("", GOOD)


# NFKC and case folding: RFC 8265, section 3.3 (full-width letters are its own example, 3.5).
@pytest.mark.parametrize("typed", ["Ana", " ANA ", "\uff21\uff2e\uff21", "ana"])
def test_a_name_is_the_same_however_it_is_typed(ana, typed):
    assert ana == sign_in(typed, GOOD)


def test_a_name_of_two_words_may_be_chosen(ana):
    assert (
        "ana ashgrove"
        == choose(ana, "another-lantern-heron", old_password=GOOD, name="Ana  Ashgrove").username
    )
    assert ana == sign_in("ANA ashgrove", "another-lantern-heron")
    fails("ana", "another-lantern-heron")


def test_a_user_of_the_command_line_signs_in_by_the_name_as_it_was_written(db):
    op = User.objects.create_user("Op", password=GOOD)
    assert op == sign_in("Op", GOOD)


# The form that the Argon2 RFC's reference implementation writes: RFC 9106; $argon2id$v=19$...
def test_passwords_are_kept_as_argon2id(farms, settings, quick):
    settings.PASSWORD_HASHERS = quick
    ana = choose(farms.farm.members.get(name="Ana").user, GOOD)
    assert ana.password.startswith("argon2$argon2id$v=19$")
    assert isinstance(identify_hasher(ana.password), Argon2PasswordHasher)
    assert GOOD not in ana.password
    # OWASP Password Storage Cheat Sheet: at least 19 MiB and two passes.
    cost = dict(part.split("=") for part in ana.password.split("$")[3].split(","))
    assert int(cost["m"]) >= 19 * 1024
    assert int(cost["t"]) >= 2


@pytest.mark.parametrize("name", ["ana", "nobody", "cleo", "gone"])
def test_whoever_is_asked_for_the_work_is_the_same(farms, name):
    """ana has a password, cleo has none yet, gone may not sign in, nobody is not there."""
    choose(farms.farm.members.get(name="Ana").user, GOOD)
    User.objects.create_user("gone", password=GOOD, is_active=False)
    QuickHasher.worked = 0
    fails(name, "something else")
    assert 1 == QuickHasher.worked


def test_pauses_grow_for_a_name_from_wherever_it_is_tried(ana):
    now, waits = NOW, []
    for n in range(17):
        fails(
            "ana", "no", (passwords.WrongNameOrPassword, tries.TooManyTries), now=now, place=f"{n}"
        )
        waits.append(int(Tries.objects.get(door=tries.BY_NAME.door).free_at.timestamp()))
        waits[-1] -= int(now.timestamp())
        now += timedelta(seconds=waits[-1])
    assert [0, 0, 0, 0, 1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 900, 900, 900] == waits


def test_even_the_right_password_waits_while_a_pause_lasts(ana):
    for n in range(6):
        fails("ana", "no", (passwords.WrongNameOrPassword, tries.TooManyTries), place=f"{n}")
    refused = fails("ana", GOOD, tries.TooManyTries, place="elsewhere")
    assert ("too_many_tries", 1) == (refused.get_codes(), refused.wait)
    assert ana == sign_in("ana", GOOD, now=NOW + timedelta(seconds=1), place="elsewhere")
    assert not Tries.objects.filter(door=tries.BY_NAME.door).exists()


def test_a_name_that_nobody_has_waits_just_so(ana):
    for n in range(5):
        fails("nobody", "no", place=f"{n}")
    assert 1 == fails("nobody", "no", tries.TooManyTries).wait
    assert ana == sign_in("ana", GOOD)


def test_one_place_that_tries_many_names_waits_and_no_more_than_a_minute(ana):
    for n in range(20):
        fails(f"name {n}", "no")
    assert 1 == fails("name 20", "no", tries.TooManyTries).wait
    assert ana == sign_in("ana", GOOD, place="203.0.113.9")
    assert timedelta(minutes=1) == max(tries.BY_PLACE.pause(n) for n in range(2000))


def test_an_own_password_buys_no_more_guesses_at_others(ana):
    for n in range(19):
        fails(f"name {n}", "no")
    sign_in("ana", GOOD)
    fails("name 19", "no")
    assert fails("name 20", "no", tries.TooManyTries)


def test_tries_are_forgotten_in_time(ana):
    for n in range(5):
        fails("ana", "no", place=f"{n}")
    later = NOW + tries.BY_NAME.forgotten_after
    for n in range(5):
        fails("ana", "no", place=f"{n}", now=later)
    sign_in("ana", GOOD, now=later + timedelta(seconds=1))
    fails("x", "no", now=later + timedelta(days=3))
    assert 2 == Tries.objects.count()  # of the last try alone


def test_what_is_kept_of_tries_names_nobody(ana):
    fails("nobody", "no", place="198.51.100.7")
    kept = str(list(Tries.objects.values()))
    assert "nobody" not in kept
    assert "198.51.100.7" not in kept


def test_the_first_password_asks_for_no_old_one_and_the_next_does(farms):
    cleo = farms.other.members.get().user
    cleo = choose(cleo, GOOD)
    for old in ("", "no"):
        with pytest.raises(passwords.WrongPassword):
            choose(cleo, "another-lantern-heron", old_password=old)
    assert cleo == sign_in("cleo", GOOD)
    choose(cleo, "another-lantern-heron", old_password=GOOD)
    assert cleo == sign_in("cleo", "another-lantern-heron")


def test_guessing_the_old_password_is_slowed_down(ana):
    for _ in range(5):
        with pytest.raises(passwords.WrongPassword):
            choose(ana, "another-lantern-heron", old_password="no")
    with pytest.raises(tries.TooManyTries):
        choose(ana, "another-lantern-heron", old_password=GOOD)


def test_a_fresh_start_link_stands_for_the_old_password(ana):
    choose(ana, "another-lantern-heron", proved_by_link=True)
    assert ana == sign_in("ana", "another-lantern-heron")


def test_a_new_password_ends_links_that_were_not_used(ana, farms):
    services.link_for(farms.farm.members.get(name="Ana"), "", now=NOW)
    services.link_for(farms.other.members.get(), "", now=NOW)
    choose(ana, "another-lantern-heron", old_password=GOOD)
    assert [farms.other.members.get().pk] == list(
        StartLink.objects.values_list("member", flat=True)
    )


# At least 8 characters, and none that is in a list of common ones: NIST SP 800-63B, 5.1.1.2.
@pytest.mark.parametrize("bad", ["short1!", "password", "12345678"])
def test_a_bad_password_is_refused_in_words(farms, bad):
    user = farms.other.members.get().user
    with pytest.raises(passwords.BadPassword) as refused:
        choose(user, bad)
    assert refused.value.fields["new_password"][0].endswith(".")
    user.refresh_from_db()
    assert not user.has_password


def test_a_name_is_one_person_s(farms, ana):
    cleo = farms.other.members.get().user
    with pytest.raises(passwords.NameTaken):
        choose(cleo, GOOD, name="ANA")
    cleo.refresh_from_db()
    assert ("cleo", False) == (cleo.username, cleo.has_password)
