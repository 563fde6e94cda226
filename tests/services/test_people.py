"""The people of a farm: joining, leaving, and being forgotten, everywhere."""

from datetime import UTC, datetime
from functools import partial

import pytest
from django.contrib.admin.models import CHANGE, LogEntry
from django.contrib.contenttypes.models import ContentType
from django.contrib.sessions.models import Session
from django.core.management import CommandError, call_command
from django.test import Client

from tests.farms import crate_id, phone_of
from tubertrack.apps.accounts import erasure, pairing, people, services, tries
from tubertrack.apps.accounts.models import (
    Buyer,
    Device,
    Member,
    PairingCode,
    Sale,
    StartLink,
    Tries,
    User,
)
from tubertrack.apps.records.models import Record
from tubertrack.apps.records.services import erase_farm
from tubertrack.apps.records.transfer import export_lines, import_as_told

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 14, 10, tzinfo=UTC)


def second_owner(farms, name="Una"):
    user = services.new_user(name.lower(), email=f"{name.lower()}@farm.example")
    return Member.objects.create(farm=farms.farm, name=name, role="owner", user=user)


def note_in_admin(thing):
    op, _ = User.objects.get_or_create(username="op", is_staff=True, is_superuser=True)
    kind = ContentType.objects.get_for_model(thing)
    LogEntry.objects.create(
        user=op, content_type=kind, object_id=str(thing.pk), object_repr="Una", action_flag=CHANGE
    )


def erase(farm, member_id):
    return erasure.erase_member(farm, member_id, now=NOW)


@pytest.mark.parametrize(
    "end",
    [
        partial(people.change_member, role="grower"),
        partial(people.change_member, role="viewer"),
        partial(people.change_member, active=False),
        erase,
    ],
)
def test_the_last_owner_stays(farms, end):
    ana = farms.farm.members.get(name="Ana")
    with pytest.raises(people.LastOwner):
        end(farms.farm, ana.pk)
    ana.refresh_from_db()
    assert ("Ana", "owner", True) == (ana.name, ana.role, ana.active)
    assert farms.owner.client.get("/api/farm/").status_code == 200


def test_an_owner_who_has_left_does_not_count_as_one(farms):
    una = second_owner(farms)
    people.change_member(farms.farm, una.pk, active=False)
    with pytest.raises(people.LastOwner):
        people.change_member(farms.farm, farms.farm.members.get(name="Ana").pk, role="grower")


def test_whoever_is_erased_leaves_nothing_but_an_id(farms):
    una = second_owner(farms)
    phone = phone_of(una)
    phone.append(phone.raw("emptied", {"crate": crate_id(1)}))
    browser = Client()
    browser.force_login(una.user)
    other = Client()
    other.force_login(farms.farm.members.get(name="Ana").user)
    services.link_for(una, "", now=NOW)
    pairing.make_code(farms.farm, una.pk, now=NOW)
    tries.begin([(tries.BY_NAME, "una")], now=NOW)
    for thing in (una, una.user, phone.device):
        note_in_admin(thing)
    erased = erasure.erase_member(farms.farm, una.pk, now=NOW)
    assert ("", True, False, None) == (erased.name, erased.erased, erased.active, erased.user_id)
    device = Device.objects.get(pk=phone.device.pk)
    assert ("Phone of an erased person", NOW) == (device.name, device.revoked_at)
    assert 401 == phone.pull().status_code
    assert not browser.get("/api/session/").json()["signed_in"]
    assert other.get("/api/session/").json()["signed_in"]
    assert 1 == Session.objects.count()
    for model in (StartLink, PairingCode, Tries, LogEntry):
        assert 0 == model.objects.count(), model
    assert not User.objects.filter(email__startswith="una").exists()
    assert str(una.pk) == str(Record.objects.get().author)
    told = "".join(export_lines(farms.farm)) + str(list(Member.objects.values()))
    assert "una" not in told.casefold()


def test_erasing_twice_changes_nothing_and_the_name_does_not_come_back(farms):
    ben = farms.farm.members.get(name="Ben")
    erasure.erase_member(farms.farm, ben.pk, now=NOW)
    erasure.erase_member(farms.farm, ben.pk, now=NOW)
    for change in ({"name": "Ben"}, {"active": True}, {"role": "owner"}):
        with pytest.raises(people.ErasedPerson):
            people.change_member(farms.farm, ben.pk, **change)


def test_one_farm_does_not_erase_a_user_of_another(farms):
    cleo = farms.other.members.get().user
    here = Member.objects.create(farm=farms.farm, name="Cleo", role="grower", user=cleo)
    erasure.erase_member(farms.farm, here.pk, now=NOW)
    assert cleo == farms.other.members.get().user
    assert "Cleo" == farms.other.members.get().name


def test_a_person_is_erased_on_every_farm_by_the_sign_in_name(farms, capsys):
    una = second_owner(farms)
    Member.objects.create(farm=farms.other, name="Una", role="grower", user=una.user)
    call_command("erase-person", "UNA")
    assert "2 farms" in capsys.readouterr().out
    assert not User.objects.filter(username="una").exists()
    assert 2 == Member.objects.filter(erased=True, name="").count()


def test_where_a_farm_would_be_left_without_an_owner_nobody_is_erased(farms):
    una = second_owner(farms)
    Member.objects.filter(farm=farms.other).update(role="grower")
    Member.objects.create(farm=farms.other, name="Una", role="owner", user=una.user)
    with pytest.raises(CommandError, match="only owner"):
        call_command("erase-person", "una")
    assert 2 == Member.objects.filter(name="Una", erased=False).count()
    assert User.objects.filter(username="una").exists()


def test_members_and_buyers_are_erased_by_their_id(farms):
    ben = farms.farm.members.get(name="Ben")
    buyer = Buyer.objects.create(farm=farms.farm, name="Moss Hollow Nursery")
    sale = Sale.objects.create(farm=farms.farm, uid=crate_id(1), buyer=buyer)
    note_in_admin(buyer)
    call_command("erase-person", str(ben.pk))
    call_command("erase-person", str(buyer.pk))
    ben.refresh_from_db()
    sale.refresh_from_db()
    assert ("", None) == (ben.name, sale.buyer)
    assert (0, 0) == (Buyer.objects.count(), LogEntry.objects.count())
    with pytest.raises(CommandError, match="no member"):
        call_command("erase-person", "zelka")


def test_an_erased_farm_takes_all_of_it_along_and_nothing_of_the_other(farms):
    for farm in (farms.farm, farms.other):
        buyer = Buyer.objects.create(farm=farm, name="Moss Hollow Nursery")
        Sale.objects.create(farm=farm, uid=crate_id(1), buyer=buyer)
        farm.prices.create(unit="tuber", price_minor=400, currency="EUR")
        note_in_admin(buyer)
        note_in_admin(farm.members.first())
    pairing.make_code(farms.farm, farms.farm.members.first().pk, now=NOW)
    other = farms.other.pk
    erase_farm(farms.farm.pk)
    for model in (Buyer, Sale, Member):
        assert {other} == set(model.objects.values_list("farm", flat=True)), model
    assert (2, 0) == (LogEntry.objects.count(), PairingCode.objects.count())


def test_somebody_erased_stays_so_when_a_farm_is_restored(farms):
    ben = farms.farm.members.get(name="Ben")
    erasure.erase_member(farms.farm, ben.pk, now=NOW)
    lines = list(export_lines(farms.farm))
    erase_farm(farms.farm.pk)
    import_as_told(lines)
    assert (True, "") == Member.objects.values_list("erased", "name").get(pk=ben.pk)
