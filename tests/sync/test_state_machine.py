"""Random lives of a farm's phones against the real service, with every fault that networks have.

Checked when all is quiet: nothing that was saved is lost, everything is there once, numbers have
no hole, cursors are prefixes, all fold to the same state, no clock stopped anybody.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from tests.farms import DAY_MS, NOON, crate_id, lot_id
from tests.sync.model_phone import FAULTS, MAKES_SERVER_CRASH, ModelPhone, Server
from tubertrack.apps.accounts.models import Device, Farm, Member
from tubertrack.apps.accounts.services import create_farm, enrol_device
from tubertrack.apps.records import warm
from tubertrack.apps.records.log import entries_after
from tubertrack.apps.records.models import Erasure, Record
from tubertrack.apps.records.services import rebuild
from tubertrack.core.stock.fold import Fold, canonical
from tubertrack.core.sync.chain import START, next_chain

pytestmark = pytest.mark.django_db
counters: Counter[str] = Counter()
EXPECTED = (
    *FAULTS,
    "server_crashed",
    "stuck",
    "history_changed",
    "sent_but_not_in_feed",
    "clock_jumped",
    "id_reused",
    "joined",
    "full_resync",
    "restored",
    "grew_past_cursor",
    "clamped_stamp",
    "held",
    "set_aside_unreadable",
)

BODIES = st.one_of(
    st.builds(
        lambda n, count: (
            "found",
            {"lot": lot_id(n), "unit": "tuber", "count": count, "container": crate_id(n)},
        ),
        st.integers(1, 3),
        st.integers(0, 9),
    ),
    st.builds(
        lambda n, count: ("counted", {"lot": lot_id(n), "count": count}),
        st.integers(1, 3),
        st.integers(0, 9),
    ),
    st.builds(
        lambda n, value: (
            "field_set",
            {"table": "crates", "row": crate_id(n), "field": "number", "value": value},
        ),
        st.integers(1, 2),
        st.sampled_from(["7", "12", "13"]),
    ),
    st.just(("moon_phase", {"phase": "full"})),
    st.just(("emptied", {"crate": "nowhere"})),
    st.just(("emptied", {"crate": crate_id(1), "note": MAKES_SERVER_CRASH})),
)


def restore(farm_id: Any, seq: int) -> None:
    """The server's log as it was when it had `seq` records, as a backup brings it back."""
    Erasure.objects.create(farm_id=farm_id)
    Record.objects.filter(farm_id=farm_id, seq__gt=seq).delete()
    Erasure.objects.all().delete()
    last = Record.objects.filter(farm_id=farm_id, seq=seq).first()
    chain = START if last is None else bytes(last.chain)
    Farm.objects.filter(pk=farm_id).update(last_seq=seq, head_chain=chain)
    warm.forget_all()
    rebuild(farm_id)


def folded(entries: Any) -> str:
    fold = Fold()
    fold.apply(entries)
    return canonical(fold.state())


class Farming(RuleBasedStateMachine):
    phone_class: type[ModelPhone] = ModelPhone

    def __init__(self) -> None:
        super().__init__()
        self.sandbox = transaction.atomic()
        self.sandbox.__enter__()
        warm.forget_all()
        self.farm = create_farm(name="Tarrowby", time_zone="UTC")
        self.server = Server(NOON, counters)
        self.phones: list[ModelPhone] = []
        self.saved: set[str] = set()

    def teardown(self) -> None:
        try:
            self.settle()
        finally:
            transaction.set_rollback(True)
            self.sandbox.__exit__(None, None, None)

    @initialize()
    def first_phone(self) -> None:
        self.join()

    def join(self) -> None:
        role = "grower" if self.phones else "owner"
        member = Member.objects.create(farm=self.farm, name=f"P{len(self.phones)}", role=role)
        enrolled = enrol_device(member, name="phone", sort="phone")
        self.phones.append(self.phone_class(enrolled.device, str(member.pk), self.server))

    @precondition(lambda self: len(self.phones) < 4)
    @rule()
    def another_device_joins(self) -> None:
        counters["joined"] += 1
        self.join()

    def phone(self, which: int) -> ModelPhone:
        return self.phones[which % len(self.phones)]

    @rule(which=st.integers(0, 3), what=BODIES, same_id=st.integers(0, 4))
    def save(self, which: int, what: tuple[str, dict[str, Any]], same_id: int) -> None:
        phone = self.phone(which)
        reuse = same_id == 0 and bool(phone.last_id)
        counters["id_reused"] += reuse
        self.saved.add(phone.save(*what, same_id=reuse))

    @rule(which=st.integers(0, 3), faults=st.lists(st.sampled_from(("", *FAULTS)), max_size=4))
    def sync(self, which: int, faults: list[str]) -> None:
        self.server.faults = list(faults)
        self.phone(which).sync()
        self.server.faults = []

    @rule(which=st.integers(0, 3), days=st.sampled_from((-3650, -1, 0, 1, 400, 3650)))
    def clock_jumps(self, which: int, days: int) -> None:
        counters["clock_jumped"] += 1
        self.phone(which).clock_ahead = days * DAY_MS

    @rule(hours=st.integers(0, 40))
    def time_passes(self, hours: int) -> None:
        self.server.clock += hours * 3_600_000

    @rule(which=st.integers(0, 3))
    def full_resync(self, which: int) -> None:
        counters["full_resync"] += 1
        self.phone(which).start_over()

    @rule(data=st.data())
    def restored_from_backup(self, data: Any) -> None:
        head = Farm.objects.get(pk=self.farm.pk).last_seq
        if head:
            counters["restored"] += 1
            restore(self.farm.pk, data.draw(st.integers(0, head - 1)))

    @rule(which=st.integers(0, 3), what=BODIES)
    def restored_before_the_phone_could_pull(self, which: int, what: tuple[str, Any]) -> None:
        """The push was answered, the pull was not, and then the server went back."""
        phone = self.phone(which)
        self.saved.add(phone.save(*what))
        self.server.faults = []
        phone._push_all()
        counters["restored"] += 1
        restore(self.farm.pk, min(phone.cursor[0], Farm.objects.get(pk=self.farm.pk).last_seq))

    @precondition(lambda self: len(self.phones) > 1 and any(p.cursor[0] for p in self.phones))
    @rule(what=st.lists(BODIES, min_size=3, max_size=5))
    def restored_and_grown_past_a_cursor(self, what: list[tuple[str, Any]]) -> None:
        """The server went back and took other records since: as long as before, or longer."""
        ahead = max(self.phones, key=lambda phone: phone.cursor[0])
        other = next(phone for phone in self.phones if phone is not ahead)
        head = Farm.objects.get(pk=self.farm.pk).last_seq
        restore(self.farm.pk, max(0, min(ahead.cursor[0], head) - 1))
        for one in what:
            self.saved.add(other.save(*one))
        other._push_all()
        head = Farm.objects.get(pk=self.farm.pk).last_seq
        counters["restored"] += 1
        counters["grew_past_cursor"] += head > ahead.cursor[0]

    @rule(which=st.integers(0, 3), number=st.sampled_from(["7", "12"]))
    def edit_with_a_fast_clock(self, which: int, number: str) -> None:
        phone = self.phone(which)
        phone.clock_ahead = DAY_MS
        body = {"table": "crates", "row": crate_id(1), "field": "number", "value": number}
        self.saved.add(phone.save("field_set", body))

    @rule()
    def somebody_delivers_rubbish(self) -> None:
        from tubertrack.apps.records.services import append

        device = Device.objects.get(farm=self.farm, sort="server")
        append(self.farm.pk, [b'{"torn'], device=device, now=self.server.clock)
        counters["set_aside_unreadable"] += 1

    @invariant()
    def numbers_have_no_hole(self) -> None:
        records = list(Record.objects.filter(farm=self.farm).order_by("seq"))
        farm = Farm.objects.get(pk=self.farm.pk)
        assert list(range(1, farm.last_seq + 1)) == [record.seq for record in records]
        chain = START
        for record in records:
            chain = next_chain(chain, record.link())
            assert bytes(record.chain) == chain
            if record.stamp_eff is not None:
                assert record.stamp_eff[0] <= record.received_at
                counters["clamped_stamp"] += record.stamp_eff[0] == record.received_at
            counters["held"] += bool(record.held)
        assert len({bytes(record.raw) for record in records}) == len(records)

    def settle(self) -> None:
        """Everybody syncs in peace, until nobody has anything to say."""
        if not self.phones:
            return
        for _ in range(3):
            for phone in self.phones:
                for _ in range(3):
                    phone.sync()
        farm = Farm.objects.get(pk=self.farm.pk)
        there = set(Record.objects.filter(farm=farm).values_list("sha256", flat=True))
        stuck = {sha for p in self.phones for sha, one in p.kept.items() if one.state == "stuck"}
        crashing = {
            sha
            for p in self.phones
            for sha, one in p.kept.items()
            if MAKES_SERVER_CRASH.encode() in one.raw
        }
        assert self.saved <= there | stuck, "a saved record is lost"
        assert stuck <= crashing, "a record that crashes the server kept others from settling"
        wanted = folded(entries_after(farm.pk, 0, up_to=farm.last_seq))
        for phone in self.phones:
            assert (farm.last_seq, bytes(farm.head_chain).hex()) == phone.cursor
            unsettled = {sha for sha, one in phone.kept.items() if one.state in ("saved", "sent")}
            assert set() == unsettled
            assert wanted == folded(phone.feed), "two devices tell two stories"
        assert [] == rebuild(farm.pk)


LIVES = settings(
    max_examples=50,
    stateful_step_count=30,
    derandomize=True,
    deadline=None,
    suppress_health_check=list(HealthCheck),
)


def test_no_history_of_faults_loses_or_doubles_anything():
    counters.clear()
    run_state_machine_as_test(Farming, settings=LIVES)
    assert [] == [fault for fault in EXPECTED if not counters[fault]]


# Guards taken out one by one: the machine above must notice.


class VerdictIsFinal(ModelPhone):
    def _at_the_head(self) -> None:
        pass


class ForgetsBeforeTheReply(ModelPhone):
    def _push(self, shas: list[str]) -> None:
        for sha in shas:
            self.kept[sha].state = "sent"
        super()._push(shas)

    def _at_the_head(self) -> None:
        pass


class OffersNothingAgain(ModelPhone):
    def start_over(self) -> None:
        self.cursor, self.feed = (0, START.hex()), []


class StopsAtTheFirstRefusal(ModelPhone):
    def _bisect(self, shas: list[str]) -> None:
        for sha in shas:
            self.kept[sha].state = "stuck"


class TakesHalfAPage(ModelPhone):
    def _take(self, entries: list[dict[str, Any]]) -> None:
        super()._take(entries)
        self.feed = self.feed[: max(0, len(self.feed) - len(entries) // 3)]


@pytest.mark.parametrize(
    "mutant",
    [
        VerdictIsFinal,
        ForgetsBeforeTheReply,
        OffersNothingAgain,
        StopsAtTheFirstRefusal,
        TakesHalfAPage,
    ],
)
def test_the_machine_notices_a_guard_taken_out(mutant):
    machine = type("Mutant", (Farming,), {"phone_class": mutant})
    quick = settings(LIVES, phases=[p for p in LIVES.phases if p.name == "generate"])
    with pytest.raises(AssertionError):
        run_state_machine_as_test(machine, settings=quick)


# Histories that random search found once, kept.


@pytest.fixture
def life():
    machine = Farming()
    machine.first_phone()
    machine.join()
    yield machine
    machine.teardown()


FOUND = ("found", {"lot": lot_id(1), "unit": "tuber", "count": 5, "container": crate_id(1)})


def test_a_verdict_is_not_final_when_the_server_is_restored(life):
    phone = life.phones[0]
    life.saved.add(phone.save(*FOUND))
    phone._push_all()
    assert ["sent"] == [one.state for one in phone.kept.values()]
    restore(life.farm.pk, 0)
    life.settle()
    assert 1 == Record.objects.count()


def test_one_id_may_stand_for_two_records(life):
    one, two = life.phones
    life.saved.add(one.save(*FOUND))
    two.last_id = one.last_id
    life.saved.add(two.save("counted", {"lot": lot_id(1), "count": 4}, same_id=True))
    life.settle()
    assert 2 == Record.objects.count()


def test_the_same_records_with_other_stamps_are_another_history(life):
    one, two = life.phones
    one.clock_ahead = 10 * DAY_MS
    for value in ("7", "12"):
        body = {"table": "crates", "row": crate_id(1), "field": "number", "value": value}
        life.saved.add(one.save("field_set", body))
    one.sync()
    two.sync()
    before = two.cursor
    restore(life.farm.pk, 0)
    life.server.clock += 1000
    one.start_over()
    one.sync()
    assert before[0] == one.cursor[0]
    assert before[1] != one.cursor[1]
    life.settle()
