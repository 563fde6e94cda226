"""The benchmark measures what it says, and leaves nothing behind."""

import io

import pytest

from tubertrack.apps.accounts.models import Farm
from tubertrack.apps.records.models import Record
from tubertrack.apps.sync.bench import CHECKS_EACH, bench_sync

pytestmark = pytest.mark.django_db


def test_a_small_winter_is_pushed_pulled_and_taken_away():
    out = io.StringIO()
    measured = bench_sync(out, crates=2)
    assert 2 * (2 + CHECKS_EACH) == measured["figures"]["records"]
    assert set(measured["targets"]) == set(measured["ratios"])
    assert all(ratio > 0 for ratio in measured["ratios"].values())
    assert (0, 0) == (Farm.objects.count(), Record.objects.count())
    assert "push" in out.getvalue()
