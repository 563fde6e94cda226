"""When a crate should be looked at again.

Default: every 14 days for the first six weeks after packing, then every 30 days.
Source: growers' societies say monthly or every couple of weeks; the closer start is common
practice, no source. A place may have its own interval.
"""

from dataclasses import dataclass
from datetime import date, timedelta

DAYS_IN_WEEK = 7


@dataclass(frozen=True)
class LookRule:
    """Days between looks: first_days until first_weeks after packing, later_days from then on.

    place_days, when set for the place, replaces both.
    """

    first_days: int = 14
    first_weeks: int = 6
    later_days: int = 30
    place_days: int | None = None

    def days_after(self, packed_on: date, looked_on: date) -> int:
        """Days to wait after a look (or the packing itself) on looked_on."""
        if self.place_days:
            return self.place_days
        fresh_until = packed_on + timedelta(days=self.first_weeks * DAYS_IN_WEEK)
        return self.first_days if looked_on < fresh_until else self.later_days


def due_on(
    packed_on: date,
    looked_on: date | None,
    rule: LookRule,
    *,
    look_again_on: date | None = None,
) -> date:
    """Date on which a crate packed on packed_on should be looked at next.

    looked_on: last look of any kind, None when it was never looked at; a look before the packing
    belongs to an earlier filling and is ignored. look_again_on: what somebody asked for at that
    look; it counts only when it is sooner than the rule.
    """
    last = looked_on if looked_on and looked_on > packed_on else packed_on
    by_rule = last + timedelta(days=rule.days_after(packed_on, last))
    if look_again_on and last < look_again_on < by_rule:
        return look_again_on
    return by_rule
