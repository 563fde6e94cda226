"""How phones get in: once, in time, by the picture or the digits, and never by guessing."""

from datetime import UTC, datetime, timedelta

import pytest

from tubertrack.apps.accounts import pairing, people, services, tries
from tubertrack.apps.accounts.models import Device, Member, PairingCode
from tubertrack.apps.accounts.pairing import CODE_TRIES, WrongCode, door_length
from tubertrack.apps.accounts.secrets import new_code

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 14, 10, tzinfo=UTC)


def wrong(code: str) -> str:
    """Other digits at the same door."""
    return code[:2] + f"{(int(code[2:]) + 1) % 10_000:04}"


def code_for(farms, name="Ben", **told):
    return pairing.make_code(farms.farm, farms.farm.members.get(name=name).pk, now=NOW, **told)


def type_in(code, *, now=NOW, place="198.51.100.7"):
    return pairing.pair_by_digits(code, place=place, device_name="Ben's old phone", now=now)


def scan(secret, *, now=NOW):
    return pairing.pair_by_secret(secret, device_name="Ben's old phone", now=now)


def guess(code, times, first_place=0):
    """Wrong tries, each from another address, so that no pause comes between."""
    for n in range(times):
        with pytest.raises(WrongCode):
            type_in(wrong(code), place=f"place {first_place + n}")


def refused(code):
    with pytest.raises(WrongCode):
        type_in(code, place="elsewhere")
    return True


def test_digits_let_one_phone_in_once(farms):
    made = code_for(farms)
    enrolled = type_in(made.code)
    assert ("Ben", "phone") == (enrolled.device.member.name, enrolled.device.sort)
    assert refused(made.code)
    with pytest.raises(WrongCode):
        scan(made.secret)


def test_the_picture_lets_one_phone_in_once(farms):
    made = code_for(farms)
    assert "Ben" == scan(made.secret).device.member.name
    with pytest.raises(WrongCode):
        scan(made.secret)
    assert refused(made.code)


def test_nothing_that_lets_in_is_kept_as_it_was_shown(farms):
    made = code_for(farms)
    kept = str(list(PairingCode.objects.values()))
    assert made.code not in kept
    assert made.secret not in kept
    token = scan(made.secret).token
    assert token not in str(list(Device.objects.values()))
    # 128 bits: 16 octets written by 6 bits each (RFC 4648, section 5).
    assert 22 == len(made.secret)


@pytest.mark.parametrize("way", ["code", "secret"])
def test_both_are_too_old_after_ten_minutes(farms, way):
    made = code_for(farms)
    use = {"code": type_in, "secret": scan}[way]
    with pytest.raises(WrongCode):
        use(getattr(made, way), now=NOW + timedelta(minutes=10))
    use(getattr(made, way), now=NOW + timedelta(minutes=9, seconds=59))


def test_ten_wrong_tries_end_the_digits_and_not_the_picture(farms):
    made = code_for(farms)
    guess(made.code, CODE_TRIES)
    assert refused(made.code)
    assert "Ben" == scan(made.secret).device.member.name


def test_nine_wrong_tries_end_nothing(farms):
    made = code_for(farms)
    guess(made.code, CODE_TRIES - 1)
    assert "Ben" == type_in(made.code, place="elsewhere").device.member.name


def test_guessing_at_one_farm_ends_no_other_farm_s_digits(farms):
    made = code_for(farms)
    cleo = farms.other.members.get()
    theirs = pairing.make_code(farms.other, cleo.pk, now=NOW)
    assert made.code[0] != theirs.code[0]
    guess(made.code, CODE_TRIES)
    assert cleo == type_in(theirs.code, place="elsewhere").device.member
    assert refused(made.code)


def test_doors_are_as_short_as_tells_the_farms_apart():
    assert 0 == door_length({("12", "a"), ("97", "a")})
    assert 1 == door_length({("12", "a"), ("97", "b"), ("13", "a")})
    assert 2 == door_length({("12", "a"), ("13", "b")})
    assert 2 == door_length({("12", "a"), ("12", "b")})
    assert 0 == door_length(set())


def test_forty_farms_that_pair_at_once_have_doors_of_their_own(db):
    doors = set()
    for n in range(40):
        farm = services.create_farm(name=f"Farm {n}", time_zone="UTC")
        doors.add(pairing.make_code(farm, farm.members.get().pk, now=NOW).code[:2])
    assert 40 == len(doors)


def test_one_place_waits_longer_and_longer_and_never_more_than_a_minute(farms):
    made, now, waits = code_for(farms), NOW, []
    for _ in range(40):
        try:
            type_in(wrong(made.code), now=now)
        except WrongCode:
            continue
        except tries.TooManyTries as pause:
            waits.append(pause.wait)
            now += timedelta(seconds=pause.wait)
    assert [1, 2, 4, 8, 16, 32, 60, 60] == waits[:8]
    with pytest.raises(tries.TooManyTries):
        type_in("000000", now=now - timedelta(seconds=1))


def test_the_picture_lets_in_from_a_place_that_waits(farms):
    made = code_for(farms)
    for n in range(20):
        with pytest.raises((WrongCode, tries.TooManyTries)):
            type_in(f"{n:06}")
    assert "Ben" == scan(made.secret).device.member.name


def test_another_place_does_not_wait(farms):
    made = code_for(farms)
    other_door = f"{(int(made.code[0]) + 5) % 10}00000"
    theirs = pairing.make_code(farms.other, farms.other.members.get().pk, now=NOW)
    for _ in range(12):
        with pytest.raises((WrongCode, tries.TooManyTries)):
            type_in(other_door if other_door[0] != theirs.code[0] else wrong(theirs.code))
    assert type_in(made.code, place="203.0.113.4")


def test_a_code_of_somebody_who_left_is_worth_nothing(farms):
    made = code_for(farms)
    people.change_member(farms.farm, farms.farm.members.get(name="Ben").pk, active=False)
    assert refused(made.code)
    with pytest.raises(WrongCode):
        scan(made.secret)


def test_a_revoked_phone_comes_back_quarantined_under_its_own_id(farms):
    device = farms.helper.device
    services.revoke_device(device, now=NOW)
    made = code_for(farms, device_id=device.pk)
    enrolled = scan(made.secret)
    assert device.pk == enrolled.device.pk
    device.refresh_from_db()
    assert (True, None) == (device.quarantined, device.revoked_at)


def test_codes_have_six_digits():
    assert all(len(code) == 6 and code.isdigit() for code in (new_code() for _ in range(200)))


def test_old_codes_do_not_pile_up(farms):
    code_for(farms)
    later = NOW + timedelta(hours=1)
    pairing.make_code(farms.farm, Member.objects.get(name="Ben").pk, now=later)
    assert 1 == PairingCode.objects.count()
