"""Which of two edits of one field wins: the effective stamp, which no fast clock can push ahead."""

from __future__ import annotations

Stamp = tuple[int, int]


def effective_stamp(stamp: Stamp | None, received_at: int) -> Stamp | None:
    """The stamp as told when its milliseconds are not after receipt, else (received_at, 0).

    None gives None. Compared as pairs of integers; equal ones are decided by the feed's order.
    Source: hybrid logical clocks, Kulkarni et al. 2014; the bound is ours.
    """
    if stamp is None or stamp[0] <= received_at:
        return stamp
    return received_at, 0
