"""What has come from a device, as the room of records tells it.

That room uses this one, so it hands its answer in (`told_by`) when the program starts.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tubertrack.apps.accounts.models import Farm


@dataclass(frozen=True, slots=True)
class Delivered:
    """What the log holds of one device."""

    records: int = 0
    """How many entries written on it are there, also those set aside."""

    highest_seq: int = 0
    """The highest of its own numbers that came; 0: none."""

    missing: tuple[tuple[int, int], ...] = ()
    """Its numbers below the highest that never came, as (first, last); the first 50 runs."""


Teller = Callable[[Farm, str | None], dict[str, Delivered]]
_tellers: list[Teller] = []


def told_by(teller: Teller) -> None:
    """From now on `teller(farm, device or None)` answers for all devices, or for one."""
    _tellers[:] = [teller]


def of_farm(farm: Farm, device: str | None = None) -> dict[str, Delivered]:
    """By the id of the device; one that sent nothing is left out."""
    return _tellers[0](farm, device) if _tellers else {}
