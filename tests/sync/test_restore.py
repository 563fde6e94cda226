"""The restore drill: a real dump, a farm that goes on, the dump brought back, and phones that heal it.

On SQLite by its online backup, on PostgreSQL by pg_dump and pg_restore.
"""

from collections import Counter

import pytest

from tests.farms import DAY_MS, NOON, crate_id, lot_id
from tests.sync.dumps import dump, restore
from tests.sync.model_phone import ModelPhone, Server
from tubertrack.apps.accounts.models import Farm, Member
from tubertrack.apps.accounts.services import create_farm, enrol_device
from tubertrack.apps.records.log import entries_after
from tubertrack.apps.records.models import Record
from tubertrack.apps.records.services import rebuild
from tubertrack.core.stock.fold import Fold, canonical

pytestmark = pytest.mark.django_db(transaction=True)


class Drill:
    """A farm of three phones and the server's disk."""

    def __init__(self, folder) -> None:
        self.farm = create_farm(name="Tarrowby", time_zone="UTC")
        self.counters: Counter[str] = Counter()
        self.server = Server(NOON, self.counters)
        self.file = folder / "backup"
        self.saved: set[str] = set()
        self.ana, self.ben, self.cleo = (self.phone(name) for name in ("Ana", "Ben", "Cleo"))

    def phone(self, name: str) -> ModelPhone:
        member = Member.objects.create(farm=self.farm, name=name, role="owner")
        enrolled = enrol_device(member, name=f"{name}'s phone", sort="phone")
        return ModelPhone(enrolled.device, str(member.pk), self.server)

    def save(self, phone: ModelPhone, count: int = 1) -> None:
        for _ in range(count):
            body = {"lot": lot_id(phone.written), "unit": "tuber", "count": 3}
            self.saved.add(phone.save("found", {**body, "container": crate_id(1)}))

    def edit(self, phone: ModelPhone, value: str) -> None:
        body = {"table": "crates", "row": crate_id(1), "field": "number", "value": value}
        self.saved.add(phone.save("field_set", body))

    def put_away(self) -> None:
        dump(self.file)

    def bring_back(self) -> None:
        restore(self.file)
        self.server.clock += DAY_MS

    def head(self) -> int:
        return Farm.objects.get(pk=self.farm.pk).last_seq

    def check(self, *phones: ModelPhone) -> None:
        """All is there once, in one history, and these phones tell the story that the server tells."""
        for _ in range(3):
            for phone in phones:
                assert phone.sync()
        farm = Farm.objects.get(pk=self.farm.pk)
        there = list(Record.objects.filter(farm=farm).values_list("sha256", flat=True))
        assert len(set(there)) == len(there) == farm.last_seq
        assert self.saved <= set(there), "a saved record is lost"
        fold = Fold()
        fold.apply(entries_after(farm.pk, 0, up_to=farm.last_seq))
        for phone in phones:
            assert (farm.last_seq, bytes(farm.head_chain).hex()) == phone.cursor
            assert {"settled"} == {one.state for one in phone.kept.values()}
            its = Fold()
            its.apply(phone.feed)
            assert canonical(fold.state()) == canonical(its.state())
        assert [] == rebuild(farm.pk)


@pytest.fixture
def drill(tmp_path):
    return Drill(tmp_path)


def test_phones_bring_back_what_the_backup_did_not_have(drill):
    drill.save(drill.ana, 4)
    drill.check(drill.ana, drill.ben, drill.cleo)
    drill.put_away()
    drill.save(drill.ana, 3)
    drill.edit(drill.ben, "12")
    drill.check(drill.ana, drill.ben)
    drill.bring_back()
    assert 4 == drill.head()
    drill.check(drill.ana, drill.ben, drill.cleo)
    assert 8 == drill.head()
    assert drill.counters["history_changed"] > 0


def test_others_push_first_and_the_server_grows_past_the_cursor_of_a_phone(drill):
    drill.save(drill.ana, 2)
    drill.check(drill.ana, drill.ben, drill.cleo)
    drill.put_away()
    drill.save(drill.ana, 2)
    drill.check(drill.ana, drill.ben)
    cursor = drill.ben.cursor
    drill.bring_back()
    drill.save(drill.cleo, 3)
    assert drill.cleo.sync()
    assert drill.head() > cursor[0]
    drill.check(drill.cleo, drill.ben, drill.ana)
    assert 7 == drill.head()


def test_what_only_a_lost_phone_wrote_comes_back_from_those_who_had_pulled_it(drill):
    drill.put_away()
    drill.save(drill.ana, 3)
    drill.check(drill.ana, drill.ben)
    drill.bring_back()
    drill.check(drill.ben, drill.cleo)  # Ana's phone lies in the river
    assert 3 == drill.head()
    brought = Record.objects.filter(relayed_by=drill.ben.device.pk)
    assert 3 == brought.count()
    assert {"owner"} == set(brought.values_list("role", flat=True))


def test_answered_by_a_server_that_was_then_restored_before_the_phone_could_pull(drill):
    drill.save(drill.ana)
    drill.check(drill.ana)
    drill.put_away()
    drill.save(drill.ana, 2)
    drill.ana._push_all()
    assert 3 == drill.head()
    drill.bring_back()
    drill.check(drill.ana)
    assert drill.counters["sent_but_not_in_feed"] >= 2


def test_the_same_records_in_the_same_order_under_new_stamps(drill):
    """Only the chain can tell this history from the old one, and both phones must take the new stamps."""
    drill.put_away()
    drill.ana.clock_ahead = 20 * DAY_MS
    for value in ("7", "12"):
        drill.edit(drill.ana, value)
    drill.check(drill.ana, drill.ben)
    before = drill.ben.cursor
    drill.bring_back()
    drill.ana.start_over()
    drill.check(drill.ana, drill.ben)
    assert before[0] == drill.ben.cursor[0]
    assert before[1] != drill.ben.cursor[1]


def test_a_dump_brought_back_twice(drill):
    drill.put_away()
    drill.save(drill.ana, 2)
    drill.check(drill.ana, drill.ben)
    drill.bring_back()
    drill.check(drill.ben)
    drill.save(drill.cleo, 2)
    drill.check(drill.cleo)
    drill.bring_back()
    assert 0 == drill.head()
    drill.check(drill.cleo, drill.ana, drill.ben)
    assert 4 == drill.head()
