"""Wrong tries at a door, and the growing pauses that follow.

A try is counted before it is judged, under a lock on its row: many at once count as many. Whoever
was right takes the try back. So a pause holds over several processes, and over a restart.
"""

from __future__ import annotations

import hmac
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil

from django.conf import settings
from django.db import transaction
from rest_framework.exceptions import APIException

from tubertrack.apps.accounts.models import Tries

FIRST_PAUSE_S = 1
KEPT_FOR = timedelta(days=2)


@dataclass(frozen=True, slots=True)
class Rule:
    """How many tries are free, how long a pause may become, and when tries are forgotten."""

    door: str
    free: int
    longest: timedelta
    forgotten_after: timedelta

    def pause(self, wrong: int) -> timedelta:
        """After so many wrong tries: none, then a second, twice as long each time."""
        if wrong < self.free:
            return timedelta(0)
        doubled = FIRST_PAUSE_S << min(wrong - self.free, 30)
        return min(timedelta(seconds=doubled), self.longest)


# A pause that grows from seconds towards an hour is what NIST SP 800-63B, 5.2.2, suggests for a
# name. All phones of a farm may share one address, so nobody waits there for more than a minute.
BY_NAME = Rule("sign in, name", 5, timedelta(minutes=15), timedelta(days=1))
BY_PLACE = Rule("sign in, place", 20, timedelta(minutes=1), timedelta(minutes=15))
PAIRING_BY_PLACE = Rule("pair, place", 10, timedelta(minutes=1), timedelta(minutes=10))

Asked = Sequence[tuple[Rule, str]]
"""Whose tries are counted at which door: always in the same order, or two would wait for each other."""


class TooManyTries(APIException):
    """Not judged and not counted: it comes too soon after wrong ones."""

    status_code = 429
    default_code = "too_many_tries"

    def __init__(self, wait_s: int) -> None:
        super().__init__(f"Too many wrong tries. Wait {_words(wait_s)}, then try again.")
        self.wait = wait_s


def begin(asked: Asked, *, now: datetime) -> None:
    """Counts a try as wrong, until `right` is told; TooManyTries while a pause lasts."""
    Tries.objects.filter(last_at__lt=now - KEPT_FOR).delete()
    with transaction.atomic():
        rows = [(rule, _row(rule, whose, now)) for rule, whose in asked]
        wait = max((row.free_at - now for _, row in rows), default=timedelta(0))
        if wait > timedelta(0):
            raise TooManyTries(ceil(wait.total_seconds()))
        for rule, row in rows:
            row.wrong += 1
            row.last_at, row.free_at = now, now + rule.pause(row.wrong)
            row.save(update_fields=["wrong", "last_at", "free_at"])


@transaction.atomic
def right(asked: Asked, *, forgiven: Rule | None, now: datetime) -> None:
    """The try was right: it is taken back, and at the door `forgiven` all are forgotten.

    Elsewhere the earlier ones stay, or somebody with one password of his own could go on guessing
    those of others without a pause.
    """
    for rule, whose in asked:
        row = _row(rule, whose, now)
        if rule is forgiven:
            row.delete()
        else:
            row.wrong, row.free_at = max(0, row.wrong - 1), now
            row.save(update_fields=["wrong", "free_at"])


def forget(rule: Rule, whose: str) -> None:
    """Nothing is kept of these tries any more."""
    Tries.objects.filter(door=rule.door, whose=_kept(whose)).delete()


def _row(rule: Rule, whose: str, now: datetime) -> Tries:
    """The count, locked; begun anew when the last try is long ago."""
    row, _ = Tries.objects.select_for_update().get_or_create(
        door=rule.door, whose=_kept(whose), defaults={"last_at": now, "free_at": now}
    )
    if row.last_at + rule.forgotten_after <= now:
        row.wrong, row.free_at = 0, now
    if row.last_at > now:  # the clock was set back: the pause is as long as it was
        row.free_at, row.last_at = now + (row.free_at - row.last_at), now
    return row


def _kept(whose: str) -> str:
    key = settings.SECRET_KEY.encode()
    told = b"tries:" + whose.encode("utf-8", "surrogatepass")
    return hmac.new(key, told, "sha256").hexdigest()


def _words(seconds: int) -> str:
    if seconds < 90:
        return "1 second" if seconds == 1 else f"{seconds} seconds"
    return f"{ceil(seconds / 60)} minutes"
