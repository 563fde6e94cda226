"""The share that comes through when tubers left early: published survival times, identities, edge cases."""

import json
import math
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubertrack.core.losses.crate_wilson import ASSUMED_SPREAD, CrateCount, crate_wilson
from tubertrack.core.losses.early_leavers import (
    Followed,
    early_leavers,
    jackknife_variance,
    life_table,
)

_FILE = Path(__file__).parents[2] / "reference" / "losses.json"
REFERENCE = {value["name"]: value for value in json.loads(_FILE.read_text())["values"]}


def sound(crate: str, count: int, until: int, entered: int = 0) -> Followed:
    return Followed(crate, count, entered, until)


def lost(crate: str, count: int, after: int, until: int, entered: int = 0) -> Followed:
    return Followed(crate, count, entered, until, after)


def remission_times() -> list[Followed]:
    value = REFERENCE["km_6mp"]["inputs"]
    return [
        lost(f"c{i}", 1, t - 1, t) if event else sound(f"c{i}", 1, t)
        for i, (t, event) in enumerate(zip(value["t"], value["event"], strict=True))
    ]


def test_exact_days_give_the_product_limit_of_the_6_mp_remission_times() -> None:
    # Freireich et al. 1963, estimates as printed in Kleinbaum & Klein, Survival Analysis, ch. 2.
    value = REFERENCE["km_6mp"]
    curve = dict(life_table(remission_times()).curve())
    assert value["expected"] == pytest.approx(
        [curve[day] for day in value["inputs"]["times"]], abs=value["tolerance"]
    )


def test_the_jackknife_over_single_tubers_agrees_with_greenwood() -> None:
    # Greenwood's standard error at the end of the 6-MP curve is 0.1346 (R survfit, from memory).
    variance = jackknife_variance(life_table(remission_times()))
    assert math.sqrt(variance) == pytest.approx(0.1346, rel=0.1)


def test_one_interval_with_leavers_in_its_middle_is_the_actuarial_estimate() -> None:
    # Cutler & Ederer 1958: lost / (at risk - left / 2); spreading by day differs in the second order
    found = early_leavers([lost("a", 4, 0, 30), sound("a", 10, 15), sound("a", 86, 30)])
    assert found.share == pytest.approx(1 - 4 / (100 - 10 / 2), abs=0.0005)


def test_counting_the_leavers_as_survivors_or_leaving_them_out_would_be_wrong() -> None:
    followed = [lost("a", 20, 0, 100), sound("a", 40, 50), sound("a", 40, 100)]
    assert 40 / 60 < early_leavers(followed).share < 80 / 100


def test_crates_of_one_round_checked_on_different_days_share_their_risk() -> None:
    # 3 of 30 lost in each of three crates since the last round, looked at on three days running
    days = {"a": 40, "b": 41, "c": 42}
    followed = [lost(c, 3, 10, day) for c, day in days.items()]
    followed += [sound(c, 27, day) for c, day in days.items()]
    assert early_leavers(followed).share == pytest.approx(0.9, abs=0.005)


def test_everybody_left_sound_is_a_share_of_one_with_the_mean_number_at_risk() -> None:
    found = early_leavers([sound("a", 10, 10), sound("b", 10, 20), sound("c", 10, 30)])
    assert (found.share, found.high, found.through_day) == (1, 1, 30)
    # 30 at risk for ten days, 20 for ten, 10 for ten: 20 on average; A = t(4)^2 / 20 against the floor
    assert 0 < found.low < 1


def test_the_curve_stops_at_the_last_day_with_tubers_at_risk() -> None:
    assert 25 == early_leavers([sound("a", 4, 25), lost("b", 4, 3, 9)]).through_day


def test_nobody_followed_gives_nothing() -> None:
    assert early_leavers([]) is None
    assert early_leavers([sound("a", 0, 30)]) is None
    assert early_leavers([sound("a", 30, 0)]) is None


def test_all_lost_is_a_share_of_nothing() -> None:
    found = early_leavers([lost("a", 10, 0, 30), lost("b", 12, 0, 30)])
    assert (found.share, found.low) == (0, 0)
    assert found.high < 0.5


def test_a_loss_on_the_day_of_packing_counts() -> None:
    found = early_leavers([lost("a", 3, 0, 0), sound("a", 27, 30)])
    assert found.share == pytest.approx(0.9)


def test_late_comers_are_at_risk_only_from_their_day() -> None:
    # 10 lost of 20 before the others came, 10 lost of 30 after
    followed = [
        lost("a", 10, 9, 10),
        lost("a", 10, 29, 30),
        sound("b", 20, 30, entered=20),
    ]
    assert early_leavers(followed).share == pytest.approx(0.5 * 20 / 30)


def test_one_crate_rests_on_the_assumed_spread() -> None:
    found = early_leavers([sound("a", 20, 30), sound("a", 8, 12), lost("a", 2, 0, 30)])
    assert ASSUMED_SPREAD in found.notes


def test_a_day_with_nobody_at_risk_changes_nothing() -> None:
    gap = [
        sound("a", 10, 5),
        lost("b", 5, 49, 50, entered=40),
        sound("b", 5, 50, entered=40),
    ]
    assert early_leavers(gap).share == pytest.approx(0.5)


@st.composite
def full_counts(draw):
    """Crates of one size, all followed to one day, with losses in any intervals: nobody leaves."""
    n = draw(st.integers(1, 40))
    crates = []
    for i in range(draw(st.integers(1, 8))):
        losses = draw(st.lists(st.integers(1, 5), max_size=4))
        while sum(losses) > n:
            losses.pop()
        spans = [sorted(draw(st.tuples(st.integers(0, 99), st.integers(1, 100)))) for _ in losses]
        followed = [lost(f"{i}", k, a, b) for k, (a, b) in zip(losses, spans, strict=True)]
        followed.append(sound(f"{i}", n - sum(losses), 100))
        crates.append((CrateCount(n - sum(losses), n), followed))
    return crates


@given(crates=full_counts())
def test_when_nobody_left_it_is_crate_wilson(crates) -> None:
    plain = crate_wilson(crate for crate, _ in crates)
    found = early_leavers([one for _, followed in crates for one in followed])
    assert (plain.share, plain.low, plain.high) == pytest.approx(
        (found.share, found.low, found.high), abs=1e-6
    )
    assert (plain.crates, plain.tubers, plain.notes) == (
        found.crates,
        found.tubers,
        found.notes,
    )


@st.composite
def any_followed(draw):
    found = []
    for _ in range(draw(st.integers(1, 25))):
        entered = draw(st.integers(0, 80))
        until = draw(st.integers(entered, 150))
        after = draw(st.one_of(st.none(), st.integers(0, 150)))
        after = None if after is None else min(after, until)
        crate = draw(st.sampled_from("abcdef"))
        found.append(Followed(crate, draw(st.integers(0, 30)), entered, until, after))
    return found


@given(followed=any_followed())
def test_limits_stay_within_bounds_around_the_share(followed) -> None:
    found = early_leavers(followed)
    if found is not None:
        assert 0 <= found.low <= found.share <= found.high <= 1


@given(followed=any_followed(), data=st.data())
def test_the_order_of_lines_does_not_matter(followed, data) -> None:
    one, other = (
        early_leavers(followed),
        early_leavers(data.draw(st.permutations(followed))),
    )
    if one is None:
        assert other is None
    else:
        assert (one.share, one.low, one.high) == pytest.approx((other.share, other.low, other.high))


@given(followed=any_followed())
def test_everybody_lost_was_at_risk_first_and_nobody_is_lost_twice(followed) -> None:
    table = life_table(followed)
    if table is None:
        return
    assert (table.lost <= table.at_risk + 1e-9).all()
    by_crate = Counter()
    for one in followed:
        if one.lost_after_day is not None:
            by_crate[one.crate] += one.count
    found = dict(zip(table.crates, table.lost.sum(axis=1), strict=True))
    for crate, count in by_crate.items():
        assert count == pytest.approx(found.get(crate, 0))


@given(followed=any_followed(), count=st.integers(1, 20))
def test_sound_tubers_followed_to_the_end_never_lower_the_share(followed, count) -> None:
    before = early_leavers(followed)
    if before is not None:
        after = early_leavers([*followed, sound("z", count, 150)])
        assert after.share >= before.share - 1e-12
