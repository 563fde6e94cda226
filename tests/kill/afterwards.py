"""What must be true of the farm's log and of every phone after the kills."""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Iterable
from typing import Any

from tubertrack.core.stock.fold import Fold, canonical
from tubertrack.core.sync.chain import START, Link, next_chain
from tubertrack.core.sync.envelope import read_envelope
from tubertrack.core.sync.feed import entry_from


class Log:
    """The log as `export-records` tells it."""

    def __init__(self, lines: Iterable[str]) -> None:
        told = [json.loads(line) for line in lines]
        self.rows = [one for one in told if "format" not in one]
        self.keys = [hashlib.sha256(one["raw"].encode()).hexdigest() for one in self.rows]
        self.seq_of = {key: row["seq"] for key, row in zip(self.keys, self.rows, strict=True)}

    def twice(self) -> list[str]:
        return [key for key, times in Counter(self.keys).items() if times > 1]

    def links(self) -> list[Link]:
        return [
            Link(
                sha256=key,
                seq=row["seq"],
                received_at=row["received_at"],
                received_on=row["received_on"],
                recorded_on=row["recorded_on"],
                stamp=tuple(row["stamp_eff"]) if "stamp_eff" in row else None,
                held=row.get("held", ""),
                role=row["role"],
            )
            for key, row in zip(self.keys, self.rows, strict=True)
        ]

    def chain_breaks(self) -> list[int]:
        """Numbers whose link is not the one worked out here from everything before."""
        chain, broken = START, []
        for row, link in zip(self.rows, self.links(), strict=True):
            chain = next_chain(chain, link)
            if chain.hex() != row["chain"]:
                broken.append(row["seq"])
        return broken

    def stock(self) -> str:
        """SHA-256 of the folded stock in its canonical form."""
        fold = Fold()
        fold.apply(
            entry_from(read_envelope(row["raw"].encode()), link)
            for row, link in zip(self.rows, self.links(), strict=True)
        )
        return hashlib.sha256(canonical(fold.state()).encode()).hexdigest()


def nothing_is_lost(log: Log, report: dict[str, Any]) -> None:
    """Every record a phone showed as saved, or was told of, is in the log once, as it was told."""
    shown = {key for phone in report["phones"] for key in phone["shown"]}
    assert log.twice() == []
    assert shown - set(log.keys) == set(), "shown as saved and not in the log"
    assert set(log.keys) - shown == set(), "in the log and written by nobody"
    contradicted = [one for one in report["told"] if log.seq_of.get(one["sha"]) != one["seq"]]
    assert contradicted == [], "a phone was told of these under another number, or they are gone"


def the_log_is_whole(log: Log) -> None:
    assert [row["seq"] for row in log.rows] == list(range(1, len(log.rows) + 1))
    assert log.chain_breaks() == []


def everybody_agrees(log: Log, report: dict[str, Any]) -> None:
    """Every phone has sent all, holds the whole log, and folds to the server's stock."""
    head = {"seq": log.rows[-1]["seq"], "chain": log.rows[-1]["chain"]}
    for phone in report["phones"]:
        assert (phone["unsettled"], phone["stuck"]) == (0, 0), phone["device"]
        assert phone["cursor"] == head
    assert {phone["stock"] for phone in report["phones"]} == {log.stock()}
