"""What two people do at one moment, on real connections: one of them is first, and nothing is torn."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from threading import Barrier

import pytest
from django.db import OperationalError, connection, transaction

from tests.farms import NOON, crate_id, two_farms
from tubertrack.apps.accounts import erasure, pairing, people, services, trade, tries
from tubertrack.apps.accounts.auth import SignedOut
from tubertrack.apps.accounts.models import Device, Member, Price, Sale, Tries
from tubertrack.apps.records.models import Record
from tubertrack.apps.sync.services import push

pytestmark = pytest.mark.django_db(transaction=True)
NOW = datetime(2026, 11, 14, 10, tzinfo=UTC)
PATIENCE_MS = 200
"""How long somebody waits for a lock before saying so."""


def at_once(*works):
    """What each returned or raised, run together on connections of their own."""
    start = Barrier(len(works), timeout=60)

    def run(work):
        try:
            start.wait()  # before a connection is taken: a pool has fewer than there are threads
            return work()
        except Exception as refused:  # noqa: BLE001  told to the test
            return refused
        finally:
            connection.close()

    with ThreadPoolExecutor(len(works)) as pool:
        return list(pool.map(run, works))


def kinds(results):
    return sorted(type(one).__name__ for one in results)


def impatient(work):
    def run():
        with connection.cursor() as cursor:
            if connection.vendor == "postgresql":
                cursor.execute(f"SET lock_timeout = {PATIENCE_MS}")
            else:
                cursor.execute(f"PRAGMA busy_timeout = {PATIENCE_MS}")
        return work()

    return run


@pytest.mark.parametrize("by", ["picture", "digits"])
def test_of_eight_phones_with_one_code_one_gets_in(by):
    farms = two_farms()
    ben = farms.farm.members.get(name="Ben")
    made = pairing.make_code(farms.farm, ben.pk, now=NOW)
    before = Device.objects.count()

    def come(n):
        if by == "picture":
            return pairing.pair_by_secret(made.secret, device_name=f"{n}", now=NOW)
        return pairing.pair_by_digits(made.code, place=f"{n}", device_name=f"{n}", now=NOW)

    results = at_once(*(lambda n=n: come(n) for n in range(8)))
    assert ["Enrolled", *["WrongCode"] * 7] == kinds(results)
    assert before + 1 == Device.objects.count()


def test_many_guesses_at_one_moment_count_as_many():
    guesses = at_once(*[lambda: tries.begin([(tries.BY_NAME, "ana")], now=NOW)] * 16)
    # The one that is counted last of the free ones begins the pause.
    assert ["NoneType"] * 5 + ["TooManyTries"] * 11 == kinds(guesses)
    assert 5 == Tries.objects.get().wrong


def test_two_owners_who_demote_each_other_leave_one():
    farms = two_farms()
    una = Member.objects.create(farm=farms.farm, name="Una", role="owner")
    ana = farms.farm.members.get(name="Ana")
    results = at_once(
        lambda: people.change_member(farms.farm, una.pk, role="helper"),
        lambda: erasure.erase_member(farms.farm, ana.pk, now=NOW),
    )
    assert ["LastOwner", "Member"] == kinds(results)
    assert 1 == Member.objects.filter(farm=farms.farm, role="owner", active=True).count()


def pushed(phone, device, n):
    told = {
        "protocol": 1,
        "device": str(device.pk),
        "records": [phone.raw("emptied", {"crate": crate_id(n)}).decode()],
    }
    return push(device, told, now=NOON)


def test_a_push_that_waits_while_its_phone_is_revoked_stores_nothing():
    farms = two_farms()
    phone = farms.helper
    let_in = Device.objects.select_related("member", "farm").get(pk=phone.device.pk)
    with transaction.atomic():
        services.revoke_device(phone.device, now=NOW)
        [waits] = at_once(impatient(lambda: pushed(phone, let_in, 1)))
        assert isinstance(waits, OperationalError)
    with pytest.raises(SignedOut):
        pushed(phone, let_in, 1)
    assert 0 == Record.objects.count()


def test_a_revocation_waits_for_the_push_that_came_first():
    farms = two_farms()
    phone = farms.helper
    with transaction.atomic():
        pushed(phone, phone.device, 1)
        [waits] = at_once(impatient(lambda: services.revoke_device(phone.device, now=NOW)))
        assert isinstance(waits, OperationalError)
    services.revoke_device(phone.device, now=NOW)
    assert 1 == Record.objects.count()


def test_a_role_is_the_one_of_the_moment_of_writing():
    farms = two_farms()
    phone = farms.helper
    let_in = Device.objects.select_related("member", "farm").get(pk=phone.device.pk)
    people.change_member(farms.farm, phone.device.member_id, role="viewer")
    [verdict] = pushed(phone, let_in, 1)["verdicts"]
    assert "not_permitted" == verdict["code"]


def test_a_quarantine_is_the_one_of_the_moment_of_writing():
    farms = two_farms()
    phone = farms.helper
    Device.objects.filter(pk=phone.device.pk).update(quarantined=True)
    let_in = Device.objects.select_related("member", "farm").get(pk=phone.device.pk)
    services.release_device(phone.device)
    [verdict] = pushed(phone, let_in, 1)["verdicts"]
    assert "stored" == verdict["verdict"]


def test_one_sale_written_twice_at_once_is_one():
    farms = two_farms()
    told = {"uid": crate_id(1), "note": "by post"}
    results = at_once(*[lambda: trade.write_sale(farms.farm, None, **told)] * 4)
    assert [False, False, False, True] == sorted(fresh for _, fresh in results)
    assert 1 == Sale.objects.count()


def test_one_price_written_twice_at_once_is_one():
    farms = two_farms()
    told = {"variety": None, "unit": "tuber", "price_minor": 400, "currency": "EUR"}
    results = at_once(*[lambda: trade.write_price(farms.farm, None, **told)] * 4)
    assert ["Price", "PriceThere", "PriceThere", "PriceThere"] == kinds(results)
    assert 1 == Price.objects.count()
