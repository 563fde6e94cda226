"""How farms begin, and how whoever runs the machine gets in."""

from datetime import UTC, datetime

import pytest

from tubertrack.apps.accounts import services
from tubertrack.apps.accounts.models import Farm, Member, StartLink, User

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 14, 10, tzinfo=UTC)


def test_a_farm_begins_with_its_owner_and_its_server():
    farm = services.create_farm(name="Tarrowby", time_zone="Europe/Dublin")
    assert [("Owner", "owner")] == list(farm.members.values_list("name", "role"))
    assert ["server"] == list(farm.devices.values_list("sort", flat=True))


def test_a_zone_that_does_not_exist_is_refused():
    with pytest.raises(services.NoSuchZone) as refused:
        services.create_farm(name="Tarrowby", time_zone="Mars/Olympus")
    assert "Mars/Olympus" in refused.value.fields["time_zone"][0]
    assert 0 == Farm.objects.count()


def test_the_first_start_makes_an_owner_and_an_empty_farm():
    link = services.mint_start_link("http://localhost:8000/", now=NOW)
    assert link.startswith("http://localhost:8000/start/")
    member = services.use_start_link(link.rsplit("/", 1)[1], now=NOW)
    assert ("owner", User.objects.get()) == (member.role, member.user)
    assert not member.user.has_usable_password()


def test_a_start_link_signs_in_once_and_not_tomorrow():
    token = services.mint_start_link("http://localhost:8000", now=NOW).rsplit("/", 1)[1]
    assert services.use_start_link(token, now=NOW + services.START_LINK_LIFE) is None
    assert services.use_start_link(token + "x", now=NOW) is None
    assert services.use_start_link(token, now=NOW) is not None
    assert services.use_start_link(token, now=NOW) is None
    assert token not in str(list(StartLink.objects.values_list("token_hash", flat=True)))


def test_a_farm_that_was_loaded_without_a_user_gets_the_owner_of_the_machine():
    farm = services.create_farm(name="Tarrowby", time_zone="UTC", owner_name="Oona")
    services.mint_start_link("http://localhost:8000", now=NOW, farm=farm)
    assert "owner" == Member.objects.get(name="Oona").user.username
    assert 1 == Farm.objects.count()
