"""How often one device may ask: far more than an honest phone does, less than a runaway script.

Each device has an allowance for each sort of work, kept in memory: it fills up with time and every
request takes one from it. (Source of the form: the token bucket of ITU-T I.371 and RFC 2697.) Ways in
without a token have limits of their own, which outlast a restart.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from rest_framework.request import Request
from rest_framework.throttling import BaseThrottle
from rest_framework.views import APIView


@dataclass(frozen=True)
class Allowance:
    """So many requests at once, and so many more with each second."""

    at_once: int
    per_s: float


ALLOWANCES = {
    # 200,000 entries are 1,000 pushes of 200 and 400 pages of 500: fewer than `at_once`, so a phone
    # that catches up never meets this however fast the server is.
    "sync": Allowance(at_once=2000, per_s=40),
    "pages": Allowance(at_once=1200, per_s=20),
    "reports": Allowance(at_once=60, per_s=1),
    "pdf": Allowance(at_once=15, per_s=0.2),
}
MOST_REMEMBERED = 20_000


class Rates:
    """What is left of each allowance."""

    def __init__(self, clock_s: Callable[[], float] = time.monotonic) -> None:
        self.clock_s = clock_s
        self.lock = threading.Lock()
        self.left: dict[tuple[str, str], tuple[float, float]] = {}

    def wait_s(self, who: str, what: str) -> float:
        """0 when the request is taken; otherwise seconds until the next one would be."""
        allowance, now = ALLOWANCES[what], self.clock_s()
        with self.lock:
            left, at = self.left.get((who, what), (float(allowance.at_once), now))
            left = min(allowance.at_once, left + (now - at) * allowance.per_s)
            if left < 1:
                self.left[who, what] = (left, now)
                return (1 - left) / allowance.per_s
            if len(self.left) >= MOST_REMEMBERED:
                self._forget_rested(now)
            self.left[who, what] = (left - 1, now)
            return 0.0

    def _forget_rested(self, now: float) -> None:
        """Those whose allowance is full again have nothing to remember."""
        self.left = {
            (who, what): (left, at)
            for (who, what), (left, at) in self.left.items()
            if left + (now - at) * ALLOWANCES[what].per_s < ALLOWANCES[what].at_once
        }


RATES = Rates()


class DeviceRate(BaseThrottle):
    """A view's `allowance` by the device that asks."""

    wait_s = 0.0

    def allow_request(self, request: Request, view: APIView) -> bool:
        asking = request.auth or request.user  # a device, or somebody signed in by session
        self.wait_s = RATES.wait_s(f"{type(asking).__name__} {asking.pk}", view.allowance)  # type: ignore[attr-defined]
        return not self.wait_s

    def wait(self) -> Any:
        return self.wait_s
