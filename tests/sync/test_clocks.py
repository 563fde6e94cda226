"""Clocks are claims: wherever a phone's clock stands, nothing stops, and no clock outranks the server's."""

import datetime as dt
import json
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from django.db import transaction
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.farms import DAY_MS, NOON, Phone, crate_id, found, lot_id, phone_of, two_farms
from tubertrack.apps.accounts.models import Farm
from tubertrack.apps.records.log import civil_date, entries_after
from tubertrack.apps.records.models import Crate, Lot, Record
from tubertrack.apps.records.services import rebuild
from tubertrack.core.stock.fold import Fold

YEAR_MS = 365 * DAY_MS
CASES = json.loads((Path(__file__).parents[1] / "reference" / "dates.json").read_text("utf-8"))


def ms_of(text: str) -> int:
    moment = dt.datetime.fromisoformat(text)
    return round(moment.timestamp() * 1000)


def number(phone: Phone, value: str, clock: int, count: int = 0) -> bytes:
    """An edit of a crate's number by a phone whose clock says `clock`."""
    body = {"table": "crates", "row": crate_id(1), "field": "number", "value": value}
    return phone.raw("field_set", body, stamp=[clock, count], recorded_at=clock)


@pytest.mark.parametrize("case", CASES["cases"], ids=lambda case: f"{case['zone']} {case['utc']}")
def test_a_date_is_that_of_the_farms_zone(case):
    assert case["date"] == civil_date(ms_of(case["utc"]), ZoneInfo(case["zone"]))


@given(st.integers(0, 2**53 - 1))
def test_no_moment_that_an_entry_can_claim_is_an_error(ms):
    for zone in ("UTC", "Pacific/Kiritimati", "Pacific/Pago_Pago"):
        assert dt.date.fromisoformat(civil_date(ms, ZoneInfo(zone)))


@pytest.mark.django_db
@pytest.mark.parametrize("case", CASES["cases"], ids=lambda case: case["utc"])
def test_the_server_dates_receipt_by_its_own_clock_and_writing_never_after_it(case):
    """Received at that moment, from a phone ten years fast and from one ten years slow."""
    farms = two_farms(time_zone=case["zone"])
    now = ms_of(case["utc"])
    for shift in (10 * YEAR_MS, -10 * YEAR_MS):
        raw = farms.owner.raw("emptied", {"crate": crate_id(1)}, recorded_at=now + shift)
        assert "stored" == farms.owner.append(raw, now=now)[0].verdict
    fast, slow = Record.objects.order_by("seq")
    assert case["date"] == fast.received_on == slow.received_on == fast.recorded_on
    assert slow.recorded_on == civil_date(now - 10 * YEAR_MS, ZoneInfo(case["zone"]))


@pytest.mark.django_db
def test_an_edit_from_ten_years_ahead_loses_to_the_next_honest_one(farms):
    fast, honest = farms.owner, farms.grower
    fast.append(number(fast, "ahead", NOON + 10 * YEAR_MS, 9), now=NOON)
    assert (NOON, 0) == Record.objects.get().stamp_eff
    # The honest phone has seen it: its own stamp counts on from there.
    honest.append(number(honest, "honest", NOON, 1), now=NOON + 1)
    assert "honest" == Crate.objects.get(uid=crate_id(1)).number
    assert [] == rebuild(farms.farm.pk)


@pytest.mark.django_db
def test_an_edit_from_ten_years_ago_still_wins_over_what_its_phone_had_seen(farms):
    slow, honest = farms.owner, farms.grower
    honest.append(number(honest, "first", NOON), now=NOON)
    slow.append(number(slow, "second", NOON, 1), now=NOON + 1)  # the stamp follows what it saw
    assert "second" == Crate.objects.get(uid=crate_id(1)).number


@pytest.mark.django_db
def test_a_clock_that_jumps_in_mid_session_stops_nobody(farms):
    """Forth ten years, back twenty, and right again, between entries of one delivery."""
    phone = farms.helper
    clocks = [NOON, NOON + 10 * YEAR_MS, NOON - 10 * YEAR_MS, NOON]
    raws = [
        phone.raw("found", found(n, n, 1), recorded_at=max(0, clock))
        for n, clock in enumerate(clocks, start=1)
    ]
    answer = phone.push(*raws).json()
    assert ["stored"] * 4 == [one["verdict"] for one in answer["verdicts"]]
    assert [1, 2, 3, 4] == [one["seq"] for one in answer["verdicts"]]
    other = farms.grower.push(farms.grower.raw("found", found(5, 5, 1))).json()
    assert ["stored"] == [one["verdict"] for one in other["verdicts"]]
    assert 5 == len(farms.viewer.pull().json()["entries"])
    assert 15 == sum(Lot.objects.values_list("balance", flat=True))
    for record in Record.objects.all():
        assert record.recorded_on <= record.received_on


@pytest.mark.django_db
def test_two_acts_of_the_night_when_an_hour_comes_twice_keep_their_order():
    """Moved at half past one and again at half past one: the second is where it is."""
    farms = two_farms(time_zone="Europe/London")
    phone = phone_of(farms.farm.members.get(role="owner"))
    first, second = ms_of("2026-10-25T00:30:00Z"), ms_of("2026-10-25T01:30:00Z")
    told = {"occurred_on": "2026-10-25"}
    raws = [
        phone.raw("found", found(1, 5, 1), recorded_at=first - 1, **told),
        phone.raw("moved", {"lot": lot_id(1), "container": crate_id(2)}, recorded_at=first, **told),
        phone.raw(
            "moved", {"lot": lot_id(1), "container": crate_id(3)}, recorded_at=second, **told
        ),
    ]
    phone.append(*reversed(raws), now=second + 60_000)
    assert crate_id(3) == str(Lot.objects.get().container)
    assert {"2026-10-25"} == set(Record.objects.values_list("recorded_on", flat=True))
    assert [] == rebuild(farms.farm.pk)


@pytest.mark.django_db
@settings(max_examples=25, derandomize=True, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from((-10 * YEAR_MS, -DAY_MS, -1, 0, 1, DAY_MS, 10 * YEAR_MS)),
            st.integers(0, 3),
        ),
        min_size=2,
        max_size=8,
    )
)
def test_whoever_edits_after_a_receipt_wins_over_what_was_received(edits):
    """A clock is any clock; each phone has pulled before it edits, so its stamp follows."""
    with transaction.atomic():
        farms = two_farms()
        seen, now = (0, 0), NOON
        for n, (shift, _) in enumerate(edits):
            now += 1000
            wall = max(0, now + shift)
            stamp = (wall, 0) if wall > seen[0] else (seen[0], seen[1] + 1)
            farms.owner.append(number(farms.owner, str(n), *stamp), now=now)
            record = Record.objects.order_by("-seq").first()
            assert record.stamp_eff[0] <= record.received_at
            assert seen < record.stamp_eff
            seen = record.stamp_eff
            assert str(n) == Crate.objects.get(uid=crate_id(1)).number
        farm = Farm.objects.get(pk=farms.farm.pk)
        fold = Fold()
        fold.apply(entries_after(farm.pk, 0, up_to=farm.last_seq))
        assert str(len(edits) - 1) == fold.rows["crates"][crate_id(1)]["number"]["value"]
        transaction.set_rollback(True)
