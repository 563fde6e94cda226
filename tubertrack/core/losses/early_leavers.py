"""The share that comes through when some tubers left the store before the end.

A tuber sold in December cannot rot in March. Counting it among the survivors makes a method look
better than it is, leaving it out makes it look worse, so each tuber counts for the days it was
followed. The share is the product over days of (1 - lost / at risk). A loss found at a check
happened at some day since the tubers were last gone through, so it is spread evenly over those
days: crates of one round that were checked a few days apart then share their risk, and with one
interval the day's hazards multiply to nearly lost / (at risk - left / 2).

Variance: delete one crate at a time. Range: as in crate_wilson, with the number of tubers really
followed, lost / (1 - share), in place of the number inspected.
Source: life table after Cutler & Ederer 1958, product limit after Kaplan & Meier 1958, delete-one
jackknife after Efron & Tibshirani 1993 chapter 11.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tubertrack.core.losses.crate_wilson import (
    RHO0,
    RHO0_ONE_CRATE,
    Interval,
    cautions,
    limits,
)

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Days = NDArray[np.float64]

METHOD = "early_leavers"


@dataclass(frozen=True, slots=True)
class Followed:
    """`count` tubers of one crate that entered together and had one fate.

    Days are integers since any fixed day. They are at risk after `entered_day` up to and including
    `until_day`. lost_after_day None: they were sound on until_day and are not followed further
    (sold, moved to another method, or that was the last look). Otherwise they were lost in the
    days after lost_after_day and no later than until_day.
    """

    crate: str
    count: int
    entered_day: int
    until_day: int
    lost_after_day: int | None = None


@dataclass(frozen=True, slots=True)
class LifeTable:
    """Day by day: tubers at risk and lost per crate. Rows are crates (sorted by id), columns days.

    first_day: the day of the first column. Unit: tubers; losses may be parts of a tuber, since one
    loss is spread over the days of its interval.
    """

    crates: tuple[str, ...]
    first_day: int
    at_risk: Days
    lost: Days

    @property
    def share(self) -> float:
        """Share still sound after the last day."""
        return float(_product(self.at_risk.sum(axis=0), self.lost.sum(axis=0)))

    def shares_without_each(self) -> Days:
        """The share when each crate in turn is left out."""
        at_risk, lost = self.at_risk.sum(axis=0), self.lost.sum(axis=0)
        return _product(at_risk - self.at_risk, lost - self.lost)

    def curve(self) -> list[tuple[int, float]]:
        """(day, share still sound) for each day with tubers at risk."""
        import numpy as np

        at_risk = self.at_risk.sum(axis=0)
        shares = np.cumprod(1 - _hazard(at_risk, self.lost.sum(axis=0)))
        return [(self.first_day + i, float(s)) for i, s in enumerate(shares) if at_risk[i] > 0]

    @property
    def last_day(self) -> int:
        """Last day with tubers at risk: the curve says nothing about later days."""
        risky = self.at_risk.sum(axis=0).nonzero()[0]
        return self.first_day + int(risky[-1])


def _hazard(at_risk: Days, lost: Days) -> Days:
    import numpy as np

    # sums of parts leave crumbs around zero; nobody at risk means nobody can be lost
    alive = at_risk > 1e-9
    hazard = np.divide(lost, at_risk, out=np.zeros_like(lost), where=alive)
    return np.clip(hazard, 0.0, 1.0)


def _product(at_risk: Days, lost: Days) -> Days:
    """Product over the last axis (days) of 1 - hazard, rid of crumbs round zero."""
    import numpy as np

    shares = (1 - _hazard(at_risk, lost)).prod(axis=-1)
    return np.where(shares < 1e-12, 0.0, np.minimum(shares, 1.0))


def life_table(followed: Iterable[Followed]) -> LifeTable | None:
    """Tubers at risk and lost on each day; None when nobody was followed for a day.

    A loss on the very day its tubers entered counts for the day after.
    """
    import numpy as np

    spans = [_at_least_a_day(one) for one in followed if one.count > 0]
    spans = [one for one in spans if one.until_day > one.entered_day]
    if not spans:
        return None
    crates = tuple(sorted({one.crate for one in spans}))
    row = {crate: i for i, crate in enumerate(crates)}
    first = min(one.entered_day for one in spans) + 1
    shape = (len(crates), max(one.until_day for one in spans) - first + 1)
    at_risk, lost = np.zeros(shape), np.zeros(shape)
    for one in spans:
        i = row[one.crate]
        start, end = one.entered_day + 1 - first, one.until_day + 1 - first
        if one.lost_after_day is None:
            at_risk[i, start:end] += one.count
            continue
        turn = max(one.lost_after_day + 1 - first, start)
        days = end - turn
        at_risk[i, start:turn] += one.count
        at_risk[i, turn:end] += one.count * np.linspace(1, 1 / days, days)
        lost[i, turn:end] += one.count / days
    return LifeTable(crates, first, at_risk, lost)


def _at_least_a_day(one: Followed) -> Followed:
    if one.lost_after_day is None:
        return one
    until = max(one.until_day, one.entered_day + 1)
    return replace(one, until_day=until, lost_after_day=min(one.lost_after_day, until - 1))


def jackknife_variance(table: LifeTable) -> float | None:
    """Variance of the share when each crate in turn is left out; None for a single crate."""
    m = len(table.crates)
    if m == 1:
        return None
    shares = table.shares_without_each()
    return float((m - 1) / m * ((shares - shares.mean()) ** 2).sum())


def early_leavers(followed: Sequence[Followed], *, rho0: float = RHO0) -> Interval | None:
    """The share that comes through with its 95 % limits; None when nobody was followed.

    Shape: any number of Followed, any order; the crate named is the crate of first packing.
    through_day of the result is the last day with tubers at risk; say that date, never go beyond.
    Empty: nobody followed for at least a day gives None. Everybody left sound: share 1.
    Source: this module's head. Checked against the 6-MP remission times of Freireich 1963.
    """
    table = life_table(followed)
    if table is None:
        return None
    share = table.share
    sizes = table.at_risk.max(axis=1)
    total = float(sizes.sum())
    number = _number_followed(table, share, total)
    variance = jackknife_variance(table)
    q = share * (1 - share)
    shown = None
    if variance is not None:
        shown = max(variance / q, 1 / number) if q > 0 else 1 / number
    m = len(table.crates)
    rho = max(rho0, RHO0_ONE_CRATE) if m == 1 and rho0 else rho0
    average = float((sizes**2).sum()) / total
    low, high = limits(share, shown, (1 + (average - 1) * rho) / number, m)
    tubers = round(total)
    return Interval(share, low, high, METHOD, m, tubers, cautions(m, tubers), table.last_day)


def _number_followed(table: LifeTable, share: float, total: float) -> float:
    """How many tubers, followed to the end, would have given as many losses; at most all there were."""
    lost = float(table.lost.sum())
    if lost > 0 and share < 1:
        return min(lost / (1 - share), total)
    at_risk = table.at_risk.sum(axis=0)
    return float(at_risk[at_risk > 0].mean())
