"""Histories in the words of the trade, folded by the real fold and read as filling lines."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Mapping
from datetime import date
from typing import Any

from tubertrack.core.losses.filling_lines import Dimension, FillingLine, Named
from tubertrack.core.losses.from_stock import (
    LookRow,
    LotRow,
    PostingRow,
    StayRow,
    filling_lines,
)
from tubertrack.core.losses.report import LossReport, loss_report
from tubertrack.core.stock.entries import Entry
from tubertrack.core.stock.fold import Fold

_SPACE = uuid.UUID("00000000-0000-4000-8000-000000000000")
WHO = str(uuid.uuid5(_SPACE, "who"))


def uid(word: str) -> str:
    """The id of a thing that a test calls by a word."""
    return str(uuid.uuid5(_SPACE, word))


class Winter:
    """A farm's feed in the making. Things are named by words; `on` is YYYY-MM-DD."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []
        self.words: dict[str, str] = {}
        self.packing: dict[str, str] = {}

    def __call__(self, word: str) -> str:
        self.words[uid(word)] = word
        return uid(word)

    def write(self, on: str, kind: str, body: dict[str, Any]) -> str:
        n = len(self.entries) + 1
        sha = hashlib.sha256(f"{n} {kind} {on}".encode()).hexdigest()
        moment = date.fromisoformat(on).toordinal() * 86_400_000 + n
        self.entries.append(
            Entry(
                sha256=sha,
                seq=n,
                id=uid(sha),
                device=WHO,
                device_seq=n,
                author=WHO,
                kind=kind,
                v=1,
                occurred_on=on,
                recorded_at=moment,
                body=body,
                held="",
                received_at=moment,
                received_on=on,
                recorded_on=on,
                stamp=None,
                role="owner",
            )
        )
        return sha

    # the acts that tests need

    def dug(self, on: str, lot: str, clumps: int, variety: str) -> str:
        line = {"lot": self(lot), "count": clumps}
        return self.write(on, "dug", {"lots": [line], "variety": self(variety)})

    def divided(
        self, on: str, clumps: str, count: int, tubers: str, into: int, **discarded: int
    ) -> str:
        return self.write(
            on,
            "divided",
            {
                "from": [{"lot": self(clumps), "count": count}],
                "into": [{"lot": self(tubers), "count": into}],
                "discarded": discarded,
            },
        )

    def packed(
        self,
        on: str,
        lot: str,
        count: int,
        crate: str,
        method: str = "shavings",
        *,
        variety: str = "",
        source: tuple[str, int] | None = None,
        thrown: dict[str, int] | None = None,
        place: str = "cellar",
        unit: str = "tuber",
        **more: Any,
    ) -> str:
        line = {"lot": self(lot), "count": count, "unit": unit}
        if variety:
            line["variety"] = self(variety)
        if more.pop("about", False):
            line["about"] = True
        body = {"crate": self(crate), "lots": [line], "place": self(place), **more}
        if method:
            body["method"] = self(method)
        if source:
            taken = {"lot": self(source[0]), "count": source[1]}
            body["from"] = [taken | ({"thrown_out": thrown} if thrown else {})]
        return self.write(on, "packed", body)

    def checked(
        self,
        on: str,
        crate: str,
        lot: str,
        look: str = "all",
        seen: int | None = None,
        **removed: int,
    ) -> str:
        line: dict[str, Any] = {"lot": self(lot), "removed": removed, "all": look == "all"}
        if seen is not None:
            line["seen"] = seen
        return self.write(on, "checked", {"crate": self(crate), "look": look, "lines": [line]})

    def sold(self, on: str, lot: str, count: int, how: str = "sold") -> str:
        return self.write(on, "gone_out", {"lot": self(lot), "count": count, "how": how})

    def counted(self, on: str, lot: str, count: int) -> str:
        return self.write(on, "counted", {"lot": self(lot), "count": count})

    def woken(self, on: str, lot: str, *, back: bool = False, **thrown: int) -> str:
        body: dict[str, Any] = {"lot": self(lot)}
        if thrown:
            body["thrown_out"] = thrown
        return self.write(on, "woken", body | ({"back": True} if back else {}))

    def split(self, on: str, lot: str, count: int, into: str, crate: str) -> str:
        return self.write(
            on,
            "split",
            {
                "from": [{"lot": self(lot), "count": count}],
                "into": [{"lot": self(into), "count": count, "container": self(crate)}],
            },
        )

    def moved(self, on: str, crate: str, place: str) -> str:
        return self.write(on, "moved", {"crate": self(crate), "place": self(place)})

    # reading it

    def fold(self) -> Fold:
        fold = Fold()
        fold.apply(self.entries)
        return fold

    def lines(self, as_of: str = "2027-06-30") -> list[FillingLine]:
        fold = self.fold()
        lots, stays = [], []
        for key, page in fold.tables["lots"].items():
            lots.append(
                LotRow(
                    uid=key, variety=page["variety"], unit=page["unit"], about=bool(page["about"])
                )
            )
            for number, stay in enumerate(page["stays"]):
                told = {k: v for k, v in stay.items() if k not in ("from", "to", "position")}
                stays.append(
                    StayRow(lot=key, number=number, from_on=stay["from"], to_on=stay["to"], **told)
                )
        return filling_lines(
            lots,
            stays,
            [PostingRow(**row) for row in fold.tables["postings"].values()],
            list(self._looks(fold)),
            crate=self._named,
            naming=self._naming,
            as_of=date.fromisoformat(as_of),
        )

    def _looks(self, fold: Fold) -> Any:
        for sha, page in fold.tables["checks"].items():
            for line in page["lines"]:
                yield LookRow(
                    record=sha,
                    lot=line["lot"],
                    on=page["on"],
                    seen=line["seen"],
                    all=bool(line["all"]),
                    removed=sum(line["removed"].values()),
                )

    def _named(self, key: str) -> Named:
        return Named(key, self.words.get(key, key))

    def _naming(self, stay: StayRow, lot: LotRow) -> Mapping[Dimension, Named]:
        return {
            Dimension.METHOD: self._named(stay["method"]),
            Dimension.VARIETY: self._named(lot["variety"]),
            Dimension.PLACE: self._named(stay["place"]),
            Dimension.PACKING: self._named(stay["method"]),
            Dimension.MOISTURE: self._named(stay["moisture"]),
        }

    def report(self, by: Dimension = Dimension.METHOD, as_of: str = "2027-06-30") -> LossReport:
        return loss_report(
            self.lines(as_of), winter="2026/27", by=by, as_of=date.fromisoformat(as_of)
        )
