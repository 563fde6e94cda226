"""The one write path: what is stored, how it is numbered, and what is never possible."""

import json
import uuid

import pytest
from django.db import DatabaseError, transaction

from tests.farms import NOON, crate_id, found, lot_id, packed, place_id
from tubertrack.apps.accounts.models import Device, Farm, Member
from tubertrack.apps.records import warm
from tubertrack.apps.records.models import Crate, HeldEntry, Lot, Record
from tubertrack.apps.records.services import append, erase_farm, rebuild
from tubertrack.core.sync.chain import START, next_chain

pytestmark = pytest.mark.django_db


def test_records_are_numbered_from_1_and_chained(farms):
    farms.owner.append(*(farms.owner.raw("emptied", {"crate": crate_id(n)}) for n in range(3)))
    farms.helper.append(farms.helper.raw("emptied", {"crate": crate_id(9)}))
    records = list(Record.objects.filter(farm=farms.farm).order_by("seq"))
    assert [1, 2, 3, 4] == [record.seq for record in records]
    chain = START
    for record in records:
        chain = next_chain(chain, record.link())
        assert chain == bytes(record.chain)
    farm = Farm.objects.get(pk=farms.farm.pk)
    assert (4, chain) == (farm.last_seq, bytes(farm.head_chain))
    assert Farm.objects.get(pk=farms.other.pk).last_seq == 0


def test_the_same_bytes_are_one_record(farms):
    raw = farms.owner.raw("emptied", {"crate": crate_id(1)})
    first, again = farms.owner.append(raw, raw)
    [later] = farms.helper.append(raw)
    assert ("stored", 1) == (first.verdict, first.seq)
    assert ("duplicate", 1) == (again.verdict, again.seq) == (later.verdict, later.seq)
    assert 1 == Record.objects.count()


def test_the_same_id_twice_is_two_records(farms):
    one, two = (farms.owner.raw("emptied", {"crate": crate_id(n)}, id=lot_id(1)) for n in (1, 2))
    assert ["stored", "stored"] == [v.verdict for v in farms.owner.append(one, two)]


def test_the_same_bytes_on_two_farms_are_two_records_and_count_on_one(farms):
    raw = farms.owner.raw("found", found(1, 5, 1))
    farms.owner.append(raw)
    [there] = farms.cleo.append(raw)
    assert ("held", 1, "wrong_farm") == (there.verdict, there.seq, there.code)
    assert [farms.farm.pk] == list(Lot.objects.values_list("farm", flat=True))


def test_what_the_server_cannot_use_is_stored_and_set_aside(farms):
    raws = [
        b"{",
        b"{}",
        farms.helper.raw("moon_phase", {}),
        farms.helper.raw("emptied", {}, v=9),
        farms.helper.raw("emptied", {}),
        farms.helper.raw("bought", {"lot": lot_id(1)}, author=str(uuid.uuid4())),
        farms.helper.raw("emptied", {"crate": crate_id(1), "note": "x" * 66_000}),
    ]
    codes = [v.code for v in farms.helper.append(*raws)]
    assert [
        "unreadable",
        "bad_envelope",
        "unknown_kind",
        "newer_version",
        "bad_body",
        "bad_body",
        "too_large",
    ] == codes
    assert raws == [bytes(r.raw) for r in Record.objects.order_by("seq")]
    assert 7 == HeldEntry.objects.count()


def test_an_unknown_author_and_somebody_who_left_are_set_aside(farms):
    stranger = farms.owner.raw("emptied", {"crate": crate_id(1)}, author=str(uuid.uuid4()))
    Member.objects.filter(name="Ben").update(active=False)
    gone = farms.owner.raw(
        "emptied", {"crate": crate_id(2)}, author=str(farms.helper.device.member_id)
    )
    assert ["not_permitted"] * 2 == [v.code for v in farms.owner.append(stranger, gone)]


def test_a_relayed_record_has_the_lesser_rights_and_says_by_whom(farms):
    body = {"table": "varieties", "row": lot_id(1), "field": "name", "value": "Pim Haddersley"}
    raw = farms.owner.raw("field_set", body)
    [relayed] = farms.helper.append(raw)
    assert ("held", "not_permitted") == (relayed.verdict, relayed.code)
    record = Record.objects.get()
    assert ("helper", farms.helper.device.pk) == (record.role, record.relayed_by_id)


def test_an_owner_accepts_what_was_set_aside(farms):
    raw = farms.owner.raw("found", found(1, 5, 1), author=str(uuid.uuid4()))
    [held] = farms.owner.append(raw)
    assert 0 == Lot.objects.count()
    farms.owner.append(
        farms.owner.raw("held_resolved", {"target": held.sha256, "decision": "accept"})
    )
    assert 5 == Lot.objects.get().balance
    assert 0 == HeldEntry.objects.count()


def test_a_phone_that_came_back_quarantined_delivers_set_aside(farms):
    Device.objects.filter(pk=farms.helper.device.pk).update(quarantined=True)
    farms.helper.device.refresh_from_db()
    [verdict] = farms.helper.append(farms.helper.raw("emptied", {"crate": crate_id(1)}))
    assert "quarantined" == verdict.code


def test_a_device_cannot_write_to_another_farm(farms):
    with pytest.raises(ValueError, match="own farm"):
        append(farms.other.pk, [], device=farms.owner.device, now=NOON)


def test_a_fast_clock_gets_no_stamp_beyond_receipt_and_no_date_beyond_it(farms):
    body = {"table": "crates", "row": crate_id(1), "field": "number", "value": "12"}
    raw = farms.owner.raw("field_set", body, stamp=[NOON + 5, 7], recorded_at=2**52)
    farms.owner.append(raw)
    record = Record.objects.get()
    assert ((NOON, 0), "2024-11-14") == (record.stamp_eff, record.recorded_on)


def test_dates_are_those_of_the_farms_zone(farms):
    Farm.objects.filter(pk=farms.farm.pk).update(time_zone="Pacific/Auckland")
    farms.owner.append(farms.owner.raw("emptied", {"crate": crate_id(1)}), now=NOON + 3_600_000)
    assert "2024-11-15" == Record.objects.get().received_on  # 11:00 UTC is midnight, UTC+13


@pytest.mark.parametrize(
    "change",
    [
        lambda: Record.objects.update(raw=b"{}"),
        lambda: Record.objects.update(held="bad_body"),
        lambda: Record.objects.all().delete(),
    ],
)
def test_the_database_refuses_to_change_or_delete_a_record(farms, change):
    farms.owner.append(farms.owner.raw("emptied", {"crate": crate_id(1)}))
    with pytest.raises(DatabaseError, match="a record is never"), transaction.atomic():
        change()
    assert 1 == Record.objects.count()


def test_an_erased_farm_is_gone_and_the_other_stays(farms):
    farms.owner.append(farms.owner.raw("found", found(1, 5, 1)))
    farms.cleo.append(farms.cleo.raw("found", found(1, 6, 1)))
    erase_farm(farms.farm.pk)
    assert [farms.other.pk] == list(Farm.objects.values_list("pk", flat=True))
    assert [farms.other.pk] == list(Record.objects.values_list("farm", flat=True))
    assert 6 == Lot.objects.get().balance


def test_a_rolled_back_push_leaves_nothing_and_the_next_one_is_right(farms):
    farms.owner.append(farms.owner.raw("found", found(1, 5, 1)))
    with transaction.atomic():
        farms.owner.append(farms.owner.raw("found", found(2, 7, 1)))
        transaction.set_rollback(True)
    farms.owner.append(farms.owner.raw("found", found(3, 1, 1)))
    assert [5, 1] == list(Lot.objects.order_by("uid").values_list("balance", flat=True))
    assert 2 == Farm.objects.get(pk=farms.farm.pk).last_seq
    assert [] == rebuild(farms.farm.pk)


def test_another_process_may_have_written_meanwhile(farms):
    farms.owner.append(farms.owner.raw("found", found(1, 5, 1)))
    mine = warm.take(Farm.objects.get(pk=farms.farm.pk))
    farms.owner.append(farms.owner.raw("found", found(2, 7, 1)))  # folded from nothing
    warm.give_back(farms.farm.pk, mine)  # what a second process still has in its memory
    farms.owner.append(farms.owner.raw("found", found(3, 1, 1)))
    assert 3 == len(Crate.objects.get().lots)
    assert [] == rebuild(farms.farm.pk)


def test_rebuild_finds_a_row_that_was_wrong_and_mends_it(farms):
    farms.owner.append(farms.owner.raw("found", found(1, 5, 1)))
    Lot.objects.update(balance=99)
    assert ["Lot"] == rebuild(farms.farm.pk)
    assert 5 == Lot.objects.get().balance


def test_texts_that_a_database_refuses_are_kept_in_the_record_and_shown_with_a_mark(farms):
    body = {"table": "crates", "row": crate_id(1), "field": "number", "value": "1\0\ud800"}
    raw = farms.owner.raw("field_set", body)
    farms.owner.append(raw)
    assert "1\ufffd\ufffd" == Crate.objects.get().number
    assert "1\0\ud800" == json.loads(bytes(Record.objects.get().raw))["body"]["value"]


def test_due_dates_follow_packing_looks_places_and_settings(farms):
    owner = farms.owner
    place = place_id(1)
    owner.append(
        owner.raw("found", found(1, 5, 1)),
        owner.raw("packed", packed(1, 5, 1, place=place)),
    )
    assert "2024-11-28" == Crate.objects.get(uid=crate_id(1)).due_on
    setting = {"table": "settings", "row": str(farms.farm.pk), "field": "first_check_days"}
    owner.append(owner.raw("field_set", {**setting, "value": 10}))
    assert "2024-11-24" == Crate.objects.get(uid=crate_id(1)).due_on
    owner.append(
        owner.raw("field_set", {"table": "places", "row": place, "field": "check_days", "value": 5})
    )
    assert "2024-11-19" == Crate.objects.get(uid=crate_id(1)).due_on
    cellar = {"table": "places", "row": place_id(2), "field": "check_days", "value": 3}
    owner.append(
        owner.raw("field_set", cellar),
        owner.raw("same_as", {"table": "places", "row": place, "into": place_id(2)}),
    )
    assert "2024-11-17" == Crate.objects.get(uid=crate_id(1)).due_on
    owner.append(owner.raw("emptied", {"crate": crate_id(1)}))
    assert [] == rebuild(farms.farm.pk)
