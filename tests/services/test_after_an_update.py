"""What an older server could not use, and what a phone never delivered."""

import pytest

from tests.farms import DAY_MS, NOON, crate_id, found, lot_id
from tubertrack.apps.accounts.models import Farm
from tubertrack.apps.records.log import key_of, parsed_columns
from tubertrack.apps.records.models import HeldEntry, Lot, Record
from tubertrack.apps.records.reclassify import reclassify
from tubertrack.apps.records.services import keep, numbered, rebuild
from tubertrack.apps.records.undelivered import MOST_SHOWN, PATIENCE_MS, undelivered
from tubertrack.core.sync.envelope import read_envelope

pytestmark = pytest.mark.django_db


def set_aside_by_an_older_server(phone, raw, held, role="grower"):
    """A record as a server that did not know its kind stored it."""
    farm = Farm.objects.get(pk=phone.device.farm_id)
    record = Record(
        farm=farm,
        sha256=key_of(raw),
        raw=raw,
        size=len(raw),
        received_at=NOON,
        received_on="2024-11-14",
        recorded_on="2024-11-14",
        held=held,
        role=role,
        **parsed_columns(read_envelope(raw)),
    )
    keep(farm, [numbered(farm, record)])


@pytest.mark.parametrize("held", ["unknown_kind", "newer_version"])
def test_what_is_understood_now_counts_and_phones_are_told(farms, held):
    set_aside_by_an_older_server(farms.grower, farms.grower.raw("found", found(1, 5, 1)), held)
    assert (0, 1) == (Lot.objects.count(), HeldEntry.objects.count())
    assert 1 == reclassify(farms.farm.pk, now=NOON)
    assert (5, 0) == (Lot.objects.get().balance, HeldEntry.objects.count())
    told = farms.helper.pull().json()["entries"][-1]
    assert ("server", None) == (told["role"], told.get("held"))
    assert 0 == reclassify(farms.farm.pk, now=NOON)
    assert [] == rebuild(farms.farm.pk)


def test_nothing_else_is_taken_back(farms):
    viewer, helper = farms.viewer, farms.helper
    set_aside_by_an_older_server(
        viewer, viewer.raw("found", found(1, 5, 1)), "unknown_kind", "viewer"
    )
    helper.append(helper.raw("moon_phase", {}), helper.raw("emptied", {}), b"{")
    before = HeldEntry.objects.count()
    assert 0 == reclassify(farms.farm.pk, now=NOON)
    assert 4 == before == HeldEntry.objects.count()


def test_what_an_older_program_could_not_read_stays_unread_for_everybody(farms):
    """A later program that can read it gives it no id and no effect: every phone says the same."""
    owner, same = farms.owner, lot_id(77)
    raw = owner.raw("found", found(1, 5, 1), id=same)
    set_aside_by_an_older_server(owner, raw, "bad_envelope", role="")
    owner.append(owner.raw("found", found(2, 6, 1), id=same))
    assert [lot_id(2)] == [str(uid) for uid in Lot.objects.values_list("uid", flat=True)]
    assert [] == owner.client.get("/api/problems/").json()["results"]
    body = {"target": key_of(raw), "decision": "accept"}
    owner.append(owner.raw("held_resolved", body))
    assert 1 == Lot.objects.count()
    owner.append(
        owner.raw("held_resolved", {**body, "as_kind": "found", "as_body": found(1, 5, 1)})
    )
    assert 2 == Lot.objects.count()
    assert [] == rebuild(farms.farm.pk)


def emptied(phone, number):
    return phone.raw("emptied", {"crate": crate_id(1)}, device_seq=number)


def test_a_hole_in_a_phones_numbers_shows_after_a_week(farms):
    phone = farms.helper
    phone.append(*(emptied(phone, n) for n in (1, 2, 5, 6)))
    assert [] == undelivered(farms.farm, now=NOON + PATIENCE_MS - 1)
    [one] = undelivered(farms.farm, now=NOON + PATIENCE_MS)
    assert (str(phone.device.pk), [3, 4], 2) == (one.device, one.missing, one.count)
    phone.append(emptied(phone, 4), now=NOON + 8 * DAY_MS)
    assert [3] == undelivered(farms.farm, now=NOON + 8 * DAY_MS)[0].missing
    assert [] == undelivered(farms.other, now=NOON + 8 * DAY_MS)


def test_of_many_missing_numbers_the_first_are_shown(farms):
    farms.helper.append(emptied(farms.helper, 2**53 - 1))
    [one] = undelivered(farms.farm, now=NOON + PATIENCE_MS)
    assert (list(range(1, MOST_SHOWN + 1)), 2**53 - 2) == (one.missing, one.count)


def test_the_address_names_the_phone(farms):
    farms.helper.append(emptied(farms.helper, 2))
    [one] = farms.viewer.client.get("/api/undelivered/").json()
    assert ("Ben's phone", [1], 1) == (one["device_name"], one["missing"], one["count"])
