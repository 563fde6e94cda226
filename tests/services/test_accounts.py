"""How farms begin and how devices get in: once, in time, and never by guessing."""

from datetime import UTC, datetime, timedelta

import pytest

from tubertrack.apps.accounts import services
from tubertrack.apps.accounts.models import Device, Farm, Member, PairingCode, StartLink, User
from tubertrack.apps.accounts.secrets import new_code

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 14, 10, tzinfo=UTC)


def wrong(code: str) -> str:
    return f"{(int(code) + 1) % 1_000_000:06}"


def test_a_farm_begins_with_its_owner_and_its_server():
    farm = services.create_farm(name="Tarrowby", time_zone="Europe/Dublin")
    assert [("Owner", "owner")] == list(farm.members.values_list("name", "role"))
    assert ["server"] == list(farm.devices.values_list("sort", flat=True))


def test_a_zone_that_does_not_exist_is_refused():
    with pytest.raises(services.NoSuchZone) as refused:
        services.create_farm(name="Tarrowby", time_zone="Mars/Olympus")
    assert "Mars/Olympus" in refused.value.fields["time_zone"][0]
    assert 0 == Farm.objects.count()


def test_a_code_lets_one_phone_in_once(farms):
    member = farms.farm.members.get(name="Ben")
    code, kept = services.make_pairing_code(member, now=NOW)
    assert code not in kept.code_hash
    enrolled = services.pair(code, device_name="Ben's old phone", now=NOW)
    assert (member, "phone") == (enrolled.device.member, enrolled.device.sort)
    assert enrolled.token not in str(Device.objects.values_list("token_hash", flat=True))
    with pytest.raises(services.WrongCode):
        services.pair(code, device_name="another", now=NOW)


def test_a_code_is_too_old_after_ten_minutes(farms):
    code, _ = services.make_pairing_code(farms.farm.members.get(name="Ben"), now=NOW)
    with pytest.raises(services.WrongCode):
        services.pair(code, device_name="x", now=NOW + timedelta(minutes=10))
    services.pair(code, device_name="x", now=NOW + timedelta(minutes=9, seconds=59))


def test_ten_wrong_tries_end_every_living_code(farms):
    code, kept = services.make_pairing_code(farms.farm.members.get(name="Ben"), now=NOW)
    for _ in range(services.CODE_TRIES):
        with pytest.raises(services.WrongCode):
            services.pair(wrong(code), device_name="x", now=NOW)
    with pytest.raises(services.WrongCode):
        services.pair(code, device_name="x", now=NOW)
    kept.refresh_from_db()
    assert (services.CODE_TRIES, None) == (kept.attempts, kept.used_at)


def test_a_code_of_somebody_who_left_is_worth_nothing(farms):
    member = farms.farm.members.get(name="Ben")
    code, _ = services.make_pairing_code(member, now=NOW)
    services.change_member(farms.farm, member.pk, active=False)
    with pytest.raises(services.WrongCode):
        services.pair(code, device_name="x", now=NOW)


def test_a_revoked_phone_comes_back_quarantined_under_its_own_id(farms):
    device = farms.helper.device
    services.revoke_device(device, now=NOW)
    code, _ = services.make_pairing_code(device.member, now=NOW, device=device)
    enrolled = services.pair(code, device_name="x", now=NOW)
    assert device.pk == enrolled.device.pk
    device.refresh_from_db()
    assert (True, None) == (device.quarantined, device.revoked_at)


def test_the_last_owner_stays_owner(farms):
    ana = farms.farm.members.get(name="Ana")
    with pytest.raises(services.LastOwner):
        services.change_member(farms.farm, ana.pk, role="grower")
    ana.refresh_from_db()
    assert "owner" == ana.role


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


def test_codes_have_six_digits():
    assert all(len(code) == 6 and code.isdigit() for code in (new_code() for _ in range(200)))
    assert 0 == PairingCode.objects.count()
