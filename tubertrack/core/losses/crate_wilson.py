"""The share of tubers that came through, with a range that allows for crates differing.

Tubers of one crate share its fate: one rotten neighbour, one cold wall. A binomial range over all
tubers is therefore far too narrow. The range here is a Wilson score interval in which z^2/n is
replaced by a spread A, the larger of what the crates themselves show (with Student's t) and of
what an assumed likeness RHO0 of tubers in one crate would give.

Source: Wilson 1927 (score interval); Rao & Scott 1992 and Korn & Graubard 1998 (effective sample
size of clustered counts). RHO0 and the two extra degrees of freedom were calibrated by simulation,
not derived; tests/core/losses/test_coverage.py repeats a part of that and fails without them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

RHO0 = 0.2
RHO0_ONE_CRATE = 0.5
EXTRA_DF = 2
Z_95 = 1.959963984540054  # 97.5 % point of the normal distribution
FEW_TUBERS = 10
MANY_CRATES = 20
MUCH_ALIKE = 0.3
CRATES_FOR_ALIKENESS = 5

ONE_CRATE = "one_crate_says_almost_nothing"
ASSUMED_SPREAD = "assumed_spread"
FEW = "few_tubers"
CRATES_DIFFER = "crates_differ_widely"


@dataclass(frozen=True, slots=True)
class CrateCount:
    """One crate: `sound` of `inspected` tubers, standing for `stands_for` (None: just the inspected).

    Counts are tubers, 0 <= sound <= inspected.
    """

    sound: int
    inspected: int
    stands_for: int | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.sound <= self.inspected:
            raise ValueError(
                f"{self.sound} sound of {self.inspected} inspected cannot be: check the count."
            )
        if self.stands_for is not None and self.stands_for < self.inspected:
            raise ValueError(
                f"A crate of {self.stands_for} cannot have {self.inspected} inspected tubers."
            )

    @property
    def weight(self) -> int:
        """Tubers that the crate stands for."""
        return self.inspected if self.stands_for is None else self.stands_for


@dataclass(frozen=True, slots=True)
class Interval:
    """A share (0..1) with its 95 % limits, what it rests on and what to be careful about.

    share, low, high: 0 <= low <= share <= high <= 1. method: "crate_wilson" or "early_leavers".
    tubers: how many were inspected or followed. notes: codes, most serious first. through_day:
    last day with tubers under observation (early leavers only; days since any fixed day).
    """

    share: float
    low: float
    high: float
    method: str
    crates: int
    tubers: int
    notes: tuple[str, ...] = ()
    through_day: int | None = None


@dataclass(frozen=True, slots=True)
class Spread:
    """Shape of a set of crates: estimate, its variance with crates as clusters, its binomial variance.

    share: sum of weighted shares. crate_variance: ratio estimator (None for a single crate).
    one_over_n: binomial variance divided by share * (1 - share). assumed(rho): the same under a
    likeness rho.
    """

    share: float
    crate_variance: float | None
    one_over_n: float
    sum_w2: float

    def assumed(self, rho: float) -> float:
        """Relative variance if tubers of one crate were alike by rho (0..1)."""
        return (1 - rho) * self.one_over_n + rho * self.sum_w2


def counted(crates: Iterable[CrateCount]) -> list[CrateCount]:
    """The crates in which anything was inspected; others say nothing and are left out of all sums."""
    return [crate for crate in crates if crate.inspected]


def spread_of(crates: Sequence[CrateCount]) -> Spread:
    """Estimate and variances of crates that all have inspected tubers.

    Source: ratio estimator with clusters, Cochran 1977; checked against the litters of Weil 1970,
    Paul 1982 and Kupper & Haseman 1978.
    """
    total = sum(crate.weight for crate in crates)
    weights = [crate.weight / total for crate in crates]
    shares = [crate.sound / crate.inspected for crate in crates]
    # exact for full counts: all sound over all inspected
    share = math.fsum(w * s for w, s in zip(weights, shares, strict=True))
    m = len(crates)
    variance = None
    if m > 1:
        around = math.fsum((w * (s - share)) ** 2 for w, s in zip(weights, shares, strict=True))
        variance = m / (m - 1) * around
    return Spread(
        share=min(1.0, max(0.0, share)),
        crate_variance=variance,
        one_over_n=math.fsum(w * w / c.inspected for w, c in zip(weights, crates, strict=True)),
        sum_w2=math.fsum(w * w for w in weights),
    )


def t_quantile(df: int) -> float:
    """97.5 % point of Student's t with df degrees of freedom."""
    from scipy.special import stdtrit  # half a second to import

    return float(stdtrit(df, 0.975))


def score_limits(share: float, spread: float) -> tuple[float, float]:
    """Wilson's limits of a share when z^2/n is `spread`; both within 0..1 and around the share."""
    middle = share + spread / 2
    reach = math.sqrt(spread * share * (1 - share) + spread * spread / 4)
    low, high = (middle - reach) / (1 + spread), (middle + reach) / (1 + spread)
    return max(0.0, min(low, share)), min(1.0, max(high, share))


def limits(share: float, shown: float | None, assumed: float, crates: int) -> tuple[float, float]:
    """95 % limits from the relative variance that crates have shown and the one assumed.

    A single crate shows nothing (shown None): then the limits rest on the assumption alone.
    """
    by_assumption = Z_95**2 * assumed
    if shown is None or crates == 1:
        return score_limits(share, by_assumption)
    return score_limits(share, max(t_quantile(crates - 1 + EXTRA_DF) ** 2 * shown, by_assumption))


def crate_wilson(crates: Iterable[CrateCount], *, rho0: float = RHO0) -> Interval | None:
    """The share sound with its 95 % limits; None when nothing was inspected ("no counts yet").

    Shape: one CrateCount per crate, any order. Unit: tubers in, shares 0..1 out.
    Empty: no crates, or none with inspected tubers, give None. rho0 is the safeguard described
    above; pass another value only to show what happens without it.
    Source: this module's head. Regression values in tests/reference/losses.json.
    """
    used = counted(crates)
    if not used:
        return None
    spread = spread_of(used)
    q = spread.share * (1 - spread.share)
    shown = None
    if spread.crate_variance is not None:
        shown = max(spread.crate_variance / q, spread.one_over_n) if q > 0 else spread.one_over_n
    rho = max(rho0, RHO0_ONE_CRATE) if len(used) == 1 and rho0 else rho0
    low, high = limits(spread.share, shown, spread.assumed(rho), len(used))
    tubers = sum(crate.inspected for crate in used)
    return Interval(
        spread.share,
        low,
        high,
        "crate_wilson",
        len(used),
        tubers,
        cautions(len(used), tubers),
    )


def cautions(crates: int, tubers: int, alike: float | None = None) -> tuple[str, ...]:
    """Codes of what makes a figure a guess, most serious first."""
    notes = []
    if tubers < FEW_TUBERS:
        notes.append(FEW)
    if crates == 1:
        notes += [ONE_CRATE, ASSUMED_SPREAD]
    if alike is not None and alike > MUCH_ALIKE and crates >= MANY_CRATES:
        notes.append(CRATES_DIFFER)
    return tuple(notes)


def alikeness(groups: Iterable[Sequence[CrateCount]]) -> float | None:
    """How alike tubers of one crate fared (intraclass correlation, 0..1), pooled over storage methods.

    None with fewer than five crates or when nothing (or everything) was lost. For display and for
    the note only: it never replaces RHO0, since one patchy method would then be judged by the
    others' evenness.
    """
    used = [counted(group) for group in groups]
    used = [group for group in used if len(group) > 1]
    if sum(len(group) for group in used) < CRATES_FOR_ALIKENESS:
        return None
    shown = binomial = 0.0
    sum_n = sum_n2 = 0
    for group in used:
        n = sum(crate.inspected for crate in group)
        p = sum(crate.sound for crate in group) / n
        c = len(group)
        shown += (
            c / (c - 1) * math.fsum((crate.sound - crate.inspected * p) ** 2 for crate in group)
        )
        binomial += n * p * (1 - p)
        sum_n += n
        sum_n2 += sum(crate.inspected**2 for crate in group)
    average = sum_n2 / sum_n
    if binomial <= 0 or average <= 1:
        return None
    return min(1.0, max(0.0, (shown / binomial - 1) / (average - 1)))
