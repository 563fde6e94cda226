"""Folds kept in memory between two requests, so that a push costs what it changes."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass
from typing import Any

from tubertrack.apps.accounts.models import Farm
from tubertrack.apps.records.log import entries_after
from tubertrack.apps.records.models import Record
from tubertrack.apps.records.projections import FarmFold
from tubertrack.core.sync.chain import START

MOST_ENTRIES = 400_000
"""Entries kept over all farms; the farm not asked for longest goes first."""


@dataclass(slots=True)
class WarmFold:
    """A fold of a farm's feed up to `seq`; `chain` names that history."""

    fold: FarmFold
    seq: int = 0
    chain: bytes = START


_kept: OrderedDict[str, WarmFold] = OrderedDict()
_door = threading.Lock()


def take(farm: Farm) -> WarmFold:
    """The fold of the farm's whole feed, for the caller alone until it is given back.

    The caller holds the farm's lock. A fold of a history that was rolled back is never used: its
    chain is not the chain of the log at its number.
    """
    with _door:
        warm = _kept.pop(str(farm.pk), None)
    if warm is None or not _is_prefix(warm, farm):
        warm = WarmFold(FarmFold(farm.pk))
    if warm.seq < farm.last_seq:
        warm.fold.apply(entries_after(farm.pk, warm.seq, up_to=farm.last_seq))
        warm.seq, warm.chain = farm.last_seq, bytes(farm.head_chain)
    return warm


def give_back(farm_id: Any, warm: WarmFold) -> None:
    """Keeps the fold for the next request."""
    with _door:
        _kept[str(farm_id)] = warm
        while len(_kept) > 1 and sum(one.seq for one in _kept.values()) > MOST_ENTRIES:
            _kept.popitem(last=False)


def forget(farm_id: Any) -> None:
    """Drops the fold of one farm."""
    with _door:
        _kept.pop(str(farm_id), None)


def forget_all() -> None:
    """Drops every fold, as a restart would."""
    with _door:
        _kept.clear()


def _is_prefix(warm: WarmFold, farm: Farm) -> bool:
    if warm.seq in (0, farm.last_seq):
        return warm.chain == (START if warm.seq == 0 else bytes(farm.head_chain))
    found = Record.objects.filter(farm=farm, seq=warm.seq).values_list("chain", flat=True).first()
    return found is not None and bytes(found) == warm.chain
