"""Writes the golden file of each kind and version of record that has none: `python -m tests.corpus.writing`.

records/before.json is a small farm; records/<kind>.v<n>.json holds a record with only the fields it
needs and one with all of them, as the feed gives them, and what each changes in the folded state.
A file that is there is never written again: it stands for what phones have sent.
"""

from __future__ import annotations

import json
import random
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tests import histories
from tests.histories import _MAKERS, CODES, CRATES, LOTS, MEMBERS, PLACES, PLANTINGS, VARIETIES
from tubertrack.core.stock import kinds
from tubertrack.core.stock.fold import Fold, canonical

RECORDS = Path(__file__).parent / "records"
BEFORE = RECORDS / "before.json"
# Where the first of each pool is taken already.
OTHERS = {"same_as": {"into": VARIETIES[1]}, "round_started": {"round": histories.ROUNDS[1]}}
OWNER, HELPER = MEMBERS[0], MEMBERS[2]
HOUR_MS = 3_600_000


class Clerk(histories.Scribe):
    """Writes bodies with all optional fields, or with none: about lots that are there."""

    def __init__(self, *, full: bool) -> None:
        super().__init__(random.Random(7))
        self.full = full

    def chance(self, percent: int) -> bool:
        return self.full

    def one(self, pool: Sequence[Any]) -> Any:
        return pool[0]

    def some(self, pool: Sequence[Any], most: int) -> list[Any]:
        return list(pool[: min(2, most)])

    def maybe(self, body: dict[str, Any], **fields: Any) -> dict[str, Any]:
        return body | {name: make() for name, make in fields.items()} if self.full else body

    def variety(self) -> str:
        return str(self.one(VARIETIES))

    def date(self) -> str:
        return histories.civil(self.now)

    def lines_into(self, most: int = 2) -> list[dict[str, Any]]:
        return [{**line, "lot": LOTS[4 + i]} for i, line in enumerate(super().lines_into(most))]


def record(number: int, kind: str, body: dict[str, Any], **told: Any) -> histories.Written:
    """The bytes of a record by the owner, or by whom `told` says."""
    role = told.pop("role", None)
    at = histories.START_MS + number * HOUR_MS
    envelope = {
        "id": f"00000000-0000-4000-8099-{number:012d}",
        "farm": histories.FARM,
        "device": histories.SERVER if role == "server" else histories.DEVICES[0],
        "device_seq": number,
        "author": OWNER,
        "kind": kind,
        "v": 1,
        "occurred_on": histories.civil(at),
        "recorded_at": at,
        **({"stamp": [at, 0]} if kind == "field_set" else {}),
        "body": body,
        **told,
    }
    raw = json.dumps(envelope, separators=(",", ":"), ensure_ascii=False).encode()
    return histories.Written(raw, at + 1000, role or histories.ROLES[envelope["author"]])


def farm_before() -> list[histories.Written]:
    """Four lots in crates, rows, a planting, a round, an entry set aside, a helper's voiding."""
    lines = [
        ("field_set", {"table": "varieties", "row": VARIETIES[0], "field": "name", "value": "Pim"}),
        ("field_set", {"table": "places", "row": PLACES[0], "field": "name", "value": "Cellar"}),
        ("planted", {"planting": PLANTINGS[0], "variety": VARIETIES[0], "plants": 6, "bed": "2"}),
        ("round_started", {"round": histories.ROUNDS[0], "place": PLACES[0]}),
        ("labelled", {"code": CODES[3], "target": "crate", "id": CRATES[0]}),
    ]
    for i in range(4):
        body = {"lot": LOTS[i], "unit": "tuber", "count": 10 + i, "container": CRATES[i]}
        lines.append(("found", body))
    written = [record(number, kind, body) for number, (kind, body) in enumerate(lines, start=1)]
    sold = record(20, "gone_out", {"lot": LOTS[0], "count": 2, "how": "sold"})
    void = record(21, "record_voided", {"target": sold.sha256}, author=HELPER)
    return [*written, sold, void, record(22, "graft_taken", {"lot": LOTS[0]})]


def mendings(before: list[histories.Written]) -> dict[str, dict[bool, dict[str, Any]]]:
    """Bodies of the kinds that are about other records; True for all fields."""
    sold, void, unknown = before[-3:]
    body = {"lot": LOTS[0], "count": 3, "how": "sold"}
    found = {"lot": LOTS[1], "count": 9}
    return {
        "record_voided": {
            False: {"target": sold.sha256},
            True: {"target": sold.sha256, "target_id": LOTS[0], "why": "twice"},
        },
        "record_corrected": {
            False: {"target": sold.sha256, "body": body},
            True: {
                "target": sold.sha256,
                "target_id": LOTS[0],
                "as_v": 1,
                "body": body,
                "occurred_on": "2026-10-19",
                "why": "a wrong day",
            },
        },
        "problem_accepted": {
            False: {"problem": f"not_allowed:{void.sha256}"},
            True: {"problem": f"not_allowed:{void.sha256}", "why": "agreed"},
        },
        "held_resolved": {
            False: {"target": unknown.sha256, "decision": "leave"},
            True: {
                "target": unknown.sha256,
                "decision": "accept",
                "why": "a count",
                "as_kind": "counted",
                "as_v": 1,
                "as_body": found,
            },
        },
        "record_reclassified": {
            False: {"target": unknown.sha256},
            True: {"target": unknown.sha256},
        },
    }


def state_after(history: list[histories.Written]) -> dict[str, Any]:
    fold = Fold()
    fold.apply(histories.as_entries(history))
    state: dict[str, Any] = json.loads(canonical(fold.state()))
    return state


def difference(before: dict[str, Any], after: dict[str, Any]) -> dict[str, Any]:
    """What reads differently, by table of the state and key; null for what is gone."""
    found: dict[str, Any] = {}
    for name, page in after.items():
        old = before[name]
        if isinstance(page, dict):
            keys = sorted(key for key in {*page, *old} if page.get(key) != old.get(key))
            if keys:
                found[name] = {key: page.get(key) for key in keys}
        elif page != old:
            found[name] = page
    return found


def golden(kind: str, v: int) -> dict[str, Any]:
    before = farm_before()
    told: dict[str, Any] = {"v": v, **({"role": "server"} if kind == "record_reclassified" else {})}
    records = []
    for full in (False, True):
        mending = mendings(before).get(kind)
        body = mending[full] if mending else _MAKERS[kind](Clerk(full=full))
        body |= OTHERS.get(kind, {})
        history = [*before, record(30, kind, body, **told)]
        records.append(
            {
                "what": "all fields" if full else "needed fields",
                "row": histories.as_feed(history)[-1],
                "changes": difference(state_after(before), state_after(history)),
            }
        )
    return {"kind": kind, "v": v, "records": records}


def main() -> None:
    RECORDS.mkdir(exist_ok=True)
    if not BEFORE.exists():
        _write(BEFORE, {"rows": histories.as_feed(farm_before())})
    for kind, v in sorted(kinds.schemas()):
        path = RECORDS / f"{kind}.v{v}.json"
        if not path.exists():
            _write(path, golden(kind, v))


def _write(path: Path, told: dict[str, Any]) -> None:
    path.write_text(json.dumps(told, indent=1, ensure_ascii=False) + "\n", "utf-8")
    print(path.name)


if __name__ == "__main__":
    main()
