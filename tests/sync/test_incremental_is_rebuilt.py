"""After each push of a random history every projected row is what a rebuild would write."""

from collections import Counter

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from tests import histories
from tests.farms import farm_of_histories
from tubertrack.apps.accounts.models import Farm
from tubertrack.apps.records import projections, warm
from tubertrack.apps.records.log import entries_after, key_of
from tubertrack.apps.records.models import Record
from tubertrack.apps.records.services import rebuild

rows_seen: Counter[str] = Counter()


def differing_tables(farm_id) -> list[str]:
    """Tables whose stored rows are not those of a fold from nothing."""
    farm = Farm.objects.get(pk=farm_id)
    fold = projections.FarmFold(farm.pk)
    fold.apply(entries_after(farm.pk, 0, up_to=farm.last_seq))
    found = []
    for table in projections.TABLES:
        wanted, stored = projections.folded_rows(fold, table), projections.stored_rows(farm, table)
        rows_seen[table.model.__name__] += len(stored)
        if wanted != stored:
            found.append(f"{table.model.__name__}: {_first_difference(wanted, stored)}")
    return found


def _first_difference(wanted, stored):
    key = next(key for key in wanted.keys() | stored.keys() if wanted.get(key) != stored.get(key))
    return key, wanted.get(key), stored.get(key)


FIELDS = (
    ("settings", histories.FARM, "first_check_days"),
    ("settings", histories.FARM, "as_of"),
    ("settings", histories.PLACES[0], "as_of"),  # a row that is not the farm's sets nothing
    ("places", histories.PLACES[0], "check_days"),
    ("varieties", histories.VARIETIES[0], "name"),
    ("methods", histories.METHODS[0], "minutes_per_100"),
    ("crates", histories.CRATES[0], "number"),
)
edits = st.tuples(st.sampled_from(FIELDS), st.sampled_from((7, "2026-01-20", None, "a\0", False)))


def edit_of(phone, told) -> bytes:
    (table, row, field), value = told
    return phone.raw(
        "field_set", {"table": table, "row": row, "field": field, "value": value}, author=OWNER
    )


def void_of(phone, raw: bytes) -> bytes:
    return phone.raw("record_voided", {"target": key_of(raw)}, author=OWNER)


OWNER = histories.MEMBERS[0]


class IncrementalIsRebuilt(TestCase):
    @settings(
        max_examples=40,
        derandomize=True,
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )
    @given(
        histories.histories(30),
        st.lists(edits, min_size=1, max_size=6),
        st.integers(1, 7),
        st.randoms(use_true_random=False),
    )
    def test_after_each_push_of_a_random_history(self, history, edited, at_once, chance):
        warm.forget_all()
        phones = list(farm_of_histories().values())
        chance.shuffle(history)
        sent: set[bytes] = set()
        for start in range(0, len(history), at_once):
            batch = history[start : start + at_once]
            phone = phones[start % len(phones)]
            raws = [one.raw for one in batch]
            if edited:
                raws.append(edit_of(phone, edited.pop()))
                if chance.random() < 0.4:
                    raws.append(void_of(phone, raws[-1]))
            sent |= set(raws)
            phone.append(*raws, now=max(one.received_at for one in batch))
            assert [] == differing_tables(histories.FARM)
        assert len(sent) == Record.objects.count()
        assert [] == rebuild(histories.FARM)


def test_every_projected_table_had_rows():
    """Runs after the histories above: an empty table would prove nothing."""
    if not rows_seen:
        IncrementalIsRebuilt("test_after_each_push_of_a_random_history").debug()
    assert [] == [
        table.model.__name__ for table in projections.TABLES if not rows_seen[table.model.__name__]
    ]
