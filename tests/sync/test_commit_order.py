"""Numbers come in the order of commits, on real connections: who sees n sees every m below it."""

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import OperationalError, connection, transaction

from tests.farms import NOON, crate_id, two_farms
from tubertrack.apps.accounts.models import Device, Farm
from tubertrack.apps.records.models import Record
from tubertrack.apps.records.services import append, rebuild
from tubertrack.apps.sync.selectors import pull
from tubertrack.core.sync.chain import START, next_chain

pytestmark = pytest.mark.django_db(transaction=True)
PATIENCE_MS = 200
"""How long a writer waits before it says that it was kept waiting."""


def in_thread(work):
    """Runs `work` on a connection of its own; its result or exception comes back."""

    def run():
        try:
            return work()
        finally:
            connection.close()

    with ThreadPoolExecutor(1) as pool:
        return pool.submit(run).result()


def impatient() -> None:
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(f"SET lock_timeout = {PATIENCE_MS}")
        else:
            cursor.execute(f"PRAGMA busy_timeout = {PATIENCE_MS}")


def write(phone, n):
    device = Device.objects.select_related("member").get(pk=phone.device.pk)
    return append(
        device.farm_id, [phone.raw("emptied", {"crate": crate_id(n)})], device=device, now=NOON
    )


def seqs_seen(farm):
    return [entry["seq"] for entry in pull(farm.pk, (0, START.hex()))["entries"]]


def test_a_second_writer_waits_and_a_reader_sees_nothing_of_an_open_push():
    farms = two_farms()
    with transaction.atomic():
        write(farms.owner, 1)

        def second_writer():
            impatient()
            write(farms.helper, 2)

        with pytest.raises(OperationalError):  # kept waiting until it gave up
            in_thread(second_writer)
        assert [] == in_thread(lambda: seqs_seen(farms.farm))
    in_thread(lambda: write(farms.helper, 2))
    assert [1, 2] == in_thread(lambda: seqs_seen(farms.farm))


def test_another_farm_does_not_wait():
    farms = two_farms()
    with transaction.atomic():
        write(farms.owner, 1)
        if connection.vendor == "postgresql":  # SQLite has one writer for the whole file

            def other_farm():
                impatient()
                return write(farms.cleo, 1)

            assert 1 == in_thread(other_farm)[0].seq
    assert [1] == seqs_seen(farms.farm)


def test_eight_writers_with_rollbacks_leave_no_hole():
    farms = two_farms()
    phones = list(farms.phones.values())
    gate, done, holes = threading.Barrier(9), threading.Event(), []

    def writer(number: int) -> int:
        kept = 0
        try:
            gate.wait(60)
            phone = phones[number % len(phones)]
            for turn in range(6):
                with transaction.atomic():
                    write(phone, number * 10 + turn)
                    if (number + turn) % 3 == 0:
                        transaction.set_rollback(True)
                    else:
                        kept += 1
        finally:
            connection.close()
        return kept

    def reader() -> int:
        looks = 0
        try:
            gate.wait(60)
            while not done.is_set() or looks == 0:
                seen = seqs_seen(farms.farm)
                looks += 1
                if seen != list(range(1, len(seen) + 1)):
                    holes.append(seen)
        finally:
            connection.close()
        return looks

    connection.close()  # a pool of few connections is for the threads
    with ThreadPoolExecutor(9) as pool:
        looks = pool.submit(reader)
        try:
            kept = sum(pool.map(writer, range(8)))
        finally:
            done.set()
        assert looks.result() > 0
    assert [] == holes
    records = list(Record.objects.filter(farm=farms.farm).order_by("seq"))
    assert list(range(1, kept + 1)) == [record.seq for record in records]
    chain = START
    for record in records:
        chain = next_chain(chain, record.link())
        assert chain == bytes(record.chain)
    farm = Farm.objects.get(pk=farms.farm.pk)
    assert (kept, chain) == (farm.last_seq, bytes(farm.head_chain))
    assert [] == rebuild(farms.farm.pk)
