"""The order in which records arrive changes no verdict, however they are grouped and whoever brings them."""

from collections import Counter

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from tests import histories
from tests.farms import farm_of_histories
from tubertrack.apps.accounts.models import Farm
from tubertrack.apps.records import warm
from tubertrack.apps.records.models import Record
from tubertrack.apps.records.services import erase_farm
from tubertrack.core.sync.envelope import Envelope, read_envelope
from tubertrack.core.sync.verdicts import verdict

seen: Counter[str] = Counter()


def judged_alone(raw: bytes) -> str:
    """The verdict on this record when nothing else was ever there."""
    envelope = read_envelope(raw)
    author = envelope.author if isinstance(envelope, Envelope) else ""
    return verdict(
        envelope,
        size=len(raw),
        role=histories.ROLES.get(author, ""),
        farm_id=histories.FARM,
        quarantined=False,
    )


def delivered(raws: list[bytes], cuts: list[int], chance) -> dict[bytes, str]:
    """Each record's verdict in a farm of its own, in this order, in batches, by any of its phones."""
    warm.forget_all()
    phones = list(farm_of_histories().values())
    got: dict[bytes, str] = {}
    now = histories.START_MS + 400 * histories.DAY_MS
    todo = list(raws)
    while todo:
        size = cuts[len(got) % len(cuts)]
        batch, todo = todo[:size], todo[size:]
        again = chance.sample(sorted(got), min(len(got), 2))
        now += chance.choice((0, 1, histories.DAY_MS))
        batch = [*batch, *again, *batch[:1]]
        verdicts = chance.choice(phones).append(*batch, now=now)
        for raw, one in zip(batch, verdicts, strict=True):
            assert got.setdefault(raw, one.code) == one.code
            seen[one.verdict] += 1
            seen[one.code or "counts"] += 1
    stored = {bytes(record.raw): record.held for record in Record.objects.all()}
    assert stored == got
    erase_farm(histories.FARM)
    assert not Farm.objects.filter(pk=histories.FARM).exists()
    return got


class AnyOrder(TestCase):
    @settings(
        max_examples=25,
        derandomize=True,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(
        histories.histories(30),
        st.lists(st.binary(max_size=12), max_size=2, unique=True),
        st.lists(st.integers(1, 9), min_size=1, max_size=4),
        st.randoms(use_true_random=False),
    )
    def test_the_verdict_is_that_of_the_record_alone(self, history, rubbish, cuts, chance):
        raws = list(dict.fromkeys([one.raw for one in history] + rubbish))
        alone = {raw: judged_alone(raw) for raw in raws}
        chance.shuffle(raws)
        assert alone == delivered(raws, cuts, chance)
        raws.reverse()
        assert alone == delivered(raws, [*cuts, 1], chance)


def test_every_sort_of_verdict_was_met():
    """Runs after the deliveries above: an order that sets nothing aside would prove little."""
    if not seen:
        AnyOrder("test_the_verdict_is_that_of_the_record_alone").debug()
    wanted = {"stored", "held", "duplicate", "counts", "unreadable", "unknown_kind"}
    wanted |= {"newer_version", "bad_body", "not_permitted"}
    assert wanted <= set(seen)
