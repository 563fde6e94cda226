"""A push is stored whole or not at all, wherever the database fails; and large records still travel."""

import pytest
from django.db import OperationalError, connection

from tests.farms import crate_id, found, packed, two_farms
from tubertrack.apps.accounts.models import Farm
from tubertrack.apps.records import warm
from tubertrack.apps.records.models import Lot, Record
from tubertrack.apps.records.services import rebuild
from tubertrack.apps.sync.selectors import MOST_BYTES


class FailsAt:
    """The database fails at the nth statement it is asked for."""

    def __init__(self, nth: int) -> None:
        self.left = nth

    def __call__(self, execute, sql, params, many, context):
        self.left -= 1
        if self.left == 0:
            raise OperationalError("the disk is gone")
        return execute(sql, params, many, context)


@pytest.mark.django_db(transaction=True)
def test_wherever_the_database_fails_nothing_of_the_push_is_there():
    farms = two_farms()
    phone = farms.owner
    phone.append(phone.raw("found", found(1, 9, 1)))
    raws = [
        phone.raw("packed", packed(1, 9, 2)),
        b"{",
        phone.raw("emptied", {"crate": crate_id(1)}),
        farms.helper.raw("found", found(2, 4, 1)),
    ]
    before = Farm.objects.get(pk=farms.farm.pk)
    nth = 0
    while True:
        nth += 1
        failing = FailsAt(nth)
        try:
            with connection.execute_wrapper(failing):
                phone.append(*raws)
        except OperationalError:
            farm = Farm.objects.get(pk=farms.farm.pk)
            assert (1, bytes(before.head_chain)) == (farm.last_seq, bytes(farm.head_chain)), nth
            assert 1 == Record.objects.count(), nth
            assert [9] == list(Lot.objects.values_list("balance", flat=True)), nth
            assert [] == rebuild(farms.farm.pk), nth
        else:
            break
    assert nth > 10
    assert failing.left > 0
    assert 5 == Record.objects.count()
    assert [] == rebuild(farms.farm.pk)
    warm.forget_all()


@pytest.mark.django_db
def test_a_record_larger_than_a_page_travels_alone(farms):
    """Only a file can bring one: no push holds it. Phones must get past it all the same."""
    phone = farms.owner
    large = phone.raw("emptied", {"crate": crate_id(1), "note": "x" * (MOST_BYTES + 5)})
    phone.append(phone.raw("emptied", {"crate": crate_id(1)}), large, phone.raw("moon_phase", {}))
    after, pages = "0", []
    for _ in range(4):
        entries = farms.helper.pull(after).json()["entries"]
        pages.append([entry["seq"] for entry in entries])
        if entries:
            after = f"{entries[-1]['seq']}:{entries[-1]['chain']}"
    assert [[1], [2], [3], []] == pages
