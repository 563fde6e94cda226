"""The crate-Wilson range: published values, referees, edge cases, properties."""

import json
import math
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tubertrack.core.losses.crate_wilson import (
    ASSUMED_SPREAD,
    CRATES_DIFFER,
    FEW,
    ONE_CRATE,
    Z_95,
    CrateCount,
    Interval,
    alikeness,
    crate_wilson,
    limits,
    score_limits,
    spread_of,
    t_quantile,
)

_FILE = Path(__file__).parents[2] / "reference" / "losses.json"
REFERENCE = {value["name"]: value for value in json.loads(_FILE.read_text())["values"]}


def crates_of(sound: list[int], inspected: list[int]) -> list[CrateCount]:
    return [CrateCount(x, n) for x, n in zip(sound, inspected, strict=True)]


def reference(prefix: str) -> list[dict]:
    return [value for name, value in REFERENCE.items() if name.startswith(prefix)]


@st.composite
def crate_sets(draw, least=1, most=12):
    found = []
    for _ in range(draw(st.integers(least, most))):
        n = draw(st.integers(0, 60))
        found.append(CrateCount(draw(st.integers(0, n)), n, n + draw(st.integers(0, 40))))
    return found


# Newcombe 1998, Stat Med 17:857-872, table I: the score interval itself, n in place of the spread.
@pytest.mark.parametrize("value", reference("wilson_"), ids=lambda value: value["name"])
def test_score_limits_are_wilsons(value) -> None:
    x, n = value["inputs"]["x"], value["inputs"]["n"]
    found = score_limits(x / n, Z_95**2 / n)
    assert value["expected"] == pytest.approx(found, abs=value["tolerance"])


@pytest.mark.parametrize(
    ("x", "n", "deff"), [(142, 158, 1.2325), (112, 145, 2.6), (70, 90, 5), (90, 90, 3)]
)
def test_score_limits_with_a_design_effect_equal_statsmodels_on_effective_counts(
    x, n, deff
) -> None:
    # Rao & Scott 1992: divide the counts by the design effect; referee statsmodels proportion_confint.
    from statsmodels.stats.proportion import proportion_confint

    expected = proportion_confint(x / deff, n / deff, method="wilson")
    assert expected == pytest.approx(score_limits(x / n, Z_95**2 * deff / n), abs=1e-9)


def test_ratio_variance_of_weils_control_litters() -> None:
    # Weil 1970; share, standard error and design effect as from a cluster sandwich (statsmodels GLM).
    litters = REFERENCE["weil_totals_CTRL"]["inputs"]
    value = REFERENCE["weil_ratio_deff_CTRL"]
    spread = spread_of(crates_of(litters["y"], litters["n"]))
    q = spread.share * (1 - spread.share)
    found = [
        spread.share,
        math.sqrt(spread.crate_variance),
        spread.crate_variance / (q * spread.one_over_n),
    ]
    assert value["expected"] == pytest.approx(found, abs=value["tolerance"])


# Paul 1982 (rabbits), Kupper & Haseman 1978 (mice): totals and design effect.
@pytest.mark.parametrize(
    "value", reference("rabbits") + reference("mice"), ids=lambda value: value["name"]
)
def test_design_effect_of_published_litters(value) -> None:
    crates = crates_of(value["inputs"]["y"], value["inputs"]["n"])
    spread = spread_of(crates)
    deff = spread.crate_variance / (spread.share * (1 - spread.share) * spread.one_over_n)
    affected, total, expected = value["expected"]
    assert (affected, total) == (
        sum(c.sound for c in crates),
        sum(c.inspected for c in crates),
    )
    assert expected == pytest.approx(deff, abs=value["tolerance"])


# Fisher & Yates, table of Student's t, 5 % two-sided (from memory).
@pytest.mark.parametrize(
    ("df", "t"), [(2, 4.303), (4, 2.776), (10, 2.228), (30, 2.042), (120, 1.980)]
)
def test_t_quantile_of_the_printed_table(df: int, t: float) -> None:
    assert t == pytest.approx(t_quantile(df), abs=0.0005)


# Regression values of this project; two implementations agreed on them, no outside source.
@pytest.mark.parametrize("value", reference("crate_wilson"), ids=lambda value: value["name"])
def test_regression_values(value) -> None:
    found = crate_wilson(crates_of(value["inputs"]["sound"], value["inputs"]["inspected"]))
    assert value["expected"] == pytest.approx((found.low, found.high), abs=value["tolerance"])


def test_no_crates_and_crates_without_tubers_give_no_estimate() -> None:
    assert crate_wilson([]) is None
    assert crate_wilson([CrateCount(0, 0), CrateCount(0, 0, 30)]) is None


def test_crates_nobody_looked_into_are_left_out_of_all_sums() -> None:
    seen = [CrateCount(28, 30), CrateCount(12, 30)]
    assert crate_wilson(seen) == crate_wilson([*seen, CrateCount(0, 0), CrateCount(0, 0, 40)])


def test_all_lost_starts_at_nothing_and_stays_open_above() -> None:
    found = crate_wilson([CrateCount(0, 10), CrateCount(0, 12)])
    assert (found.share, found.low) == (0, 0)
    assert found.high == pytest.approx(0.35, abs=0.005)


def test_one_crate_rests_on_an_assumed_spread_and_says_so() -> None:
    small, large = (
        crate_wilson([CrateCount(3, 3)]),
        crate_wilson([CrateCount(300, 300)]),
    )
    assert (ONE_CRATE, ASSUMED_SPREAD) == large.notes
    assert (FEW, ONE_CRATE, ASSUMED_SPREAD) == small.notes
    # 300 tubers in one crate are hardly worth more than 30: the spread between crates is unknown
    assert large.low < 0.35


def test_plenty_of_crates_carry_no_note() -> None:
    assert crate_wilson([CrateCount(28, 30)] * 12).notes == ()


def test_few_tubers_in_several_crates_carry_the_note() -> None:
    assert crate_wilson([CrateCount(3, 3)] * 3).notes == (FEW,)


def test_a_sample_stands_for_its_crate() -> None:
    # 10 of 40 seen with 5 good, 40 of 40 seen with 40 good: the crates weigh the same
    found = crate_wilson([CrateCount(5, 10, 40), CrateCount(40, 40, 40)])
    assert found.share == pytest.approx(0.75)
    assert (found.crates, found.tubers) == (2, 50)


def test_counts_that_cannot_be_are_refused_in_a_sentence() -> None:
    with pytest.raises(ValueError, match="31 sound of 30 inspected cannot be"):
        CrateCount(31, 30)
    with pytest.raises(ValueError, match="A crate of 20 cannot have 30 inspected"):
        CrateCount(3, 30, 20)


@given(crates=crate_sets())
def test_limits_stay_within_bounds_around_the_share(crates) -> None:
    found = crate_wilson(crates)
    if found is None:
        assert not any(crate.inspected for crate in crates)
    else:
        assert 0 <= found.low <= found.share <= found.high <= 1
        assert found.low < found.high


@given(crates=crate_sets(), data=st.data())
def test_the_order_of_crates_does_not_matter(crates, data) -> None:
    assert crate_wilson(crates) == crate_wilson(data.draw(st.permutations(crates)))


@given(crates=crate_sets())
def test_full_counts_give_all_sound_of_all_inspected(crates) -> None:
    full = [CrateCount(crate.sound, crate.inspected) for crate in crates]
    total = sum(crate.inspected for crate in full)
    assume(total)
    expected = sum(crate.sound for crate in full) / total
    assert expected == pytest.approx(crate_wilson(full).share, abs=1e-12)


@given(crates=crate_sets())
def test_sound_and_lost_are_mirror_images(crates) -> None:
    assume(any(crate.inspected for crate in crates))
    turned = [CrateCount(c.inspected - c.sound, c.inspected, c.stands_for) for c in crates]
    found, mirror = crate_wilson(crates), crate_wilson(turned)
    assert (1 - mirror.high, 1 - mirror.low) == pytest.approx((found.low, found.high), abs=1e-9)


@given(n=st.integers(1, 200), sound=st.integers(0, 199))
def test_in_one_crate_a_further_loss_never_raises_a_limit(n: int, sound: int) -> None:
    assume(sound < n)
    more, less = (
        crate_wilson([CrateCount(sound + 1, n)]),
        crate_wilson([CrateCount(sound, n)]),
    )
    assert less.low <= more.low
    assert less.high <= more.high


@given(n=st.integers(1, 60), m=st.integers(2, 30), sound=st.integers(0, 59))
def test_where_crates_fare_alike_a_further_loss_in_each_never_raises_a_limit(n, m, sound) -> None:
    assume(sound < n)
    more, less = (
        crate_wilson([CrateCount(sound + 1, n)] * m),
        crate_wilson([CrateCount(sound, n)] * m),
    )
    assert less.low <= more.low
    assert less.high <= more.high


def test_elsewhere_a_loss_may_raise_the_lower_limit_because_crates_become_alike() -> None:
    uneven, even = crates_of([30, 30, 8], [30] * 3), crates_of([18, 18, 8], [30] * 3)
    assert crate_wilson(even).share < crate_wilson(uneven).share
    assert crate_wilson(even).low > crate_wilson(uneven).low


@given(crates=crate_sets(least=2), more=st.integers(1, 30))
def test_the_safeguard_only_ever_widens(crates, more) -> None:
    assume(any(crate.inspected for crate in crates))
    safe, bare = crate_wilson(crates), crate_wilson(crates, rho0=0)
    assert safe.low <= bare.low + 1e-12
    assert bare.high <= safe.high + 1e-12


def test_two_crates_fall_back_on_what_they_show_when_they_differ_widely() -> None:
    found = crate_wilson([CrateCount(30, 30), CrateCount(0, 30)])
    assert found.low < 0.1
    assert found.high > 0.9


def test_limits_of_a_single_crate_ignore_what_it_cannot_show() -> None:
    assert limits(0.5, 99.0, 0.01, 1) == limits(0.5, None, 0.01, 1)


def test_alikeness_of_crates_that_are_all_or_nothing_is_one() -> None:
    assert alikeness([[CrateCount(30, 30), CrateCount(0, 30)] * 3]) == pytest.approx(1, abs=0.01)


def test_alikeness_needs_five_crates_and_some_losses() -> None:
    assert alikeness([[CrateCount(20, 30)] * 4]) is None
    assert alikeness([[CrateCount(30, 30)] * 9]) is None


def test_alikeness_of_weils_treated_litters() -> None:
    # (deff - 1)/(n_a - 1) by hand: deff 2.9276 (ratio estimator, x m/(m-1)), n_a = sum n^2 / sum n
    litters = REFERENCE["weil_totals_TREAT"]["inputs"]
    n = litters["n"]
    p = sum(litters["y"]) / sum(n)
    square = sum((y - k * p) ** 2 for y, k in zip(litters["y"], n, strict=True)) * 16 / 15
    deff = square / (sum(n) * p * (1 - p))
    average = sum(k * k for k in n) / sum(n)
    found = alikeness([crates_of(litters["y"], n)])
    assert (deff - 1) / (average - 1) == pytest.approx(found)
    # Weil's treated group is known to be far from binomial: beta-binomial ICC 0.3174 (Williams 1975 method)
    assert found == pytest.approx(0.3174, abs=0.1)


def test_an_interval_is_a_plain_value() -> None:
    found = crate_wilson([CrateCount(28, 30), CrateCount(26, 30)])
    assert found == Interval(found.share, found.low, found.high, "crate_wilson", 2, 60, ())
    assert CRATES_DIFFER not in found.notes
