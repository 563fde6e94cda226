"""Which entries count, and how they read now: voids, corrections, rights, double ids, set-aside entries.

Whether an entry counts depends only on entries that name its hash, or accept the problem that
carries its hash. A hash cannot be named by what it covers, so this never goes in circles.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from tubertrack.core.stock import kinds
from tubertrack.core.stock.entries import Act, Entry, order_key

MENDING = frozenset(
    (
        "record_corrected",
        "record_voided",
        "problem_accepted",
        "held_resolved",
        "record_reclassified",
    )
)
NOT_ALLOWED = "not_allowed:"
Problem = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Reading:
    """What an entry says after its corrections, and the date it cannot lie after."""

    kind: str
    v: int
    body: dict[str, Any]
    occurred_on: str
    no_later_than: str


class Living:
    """All entries of a farm, and for each whether and how it counts.

    `add` returns the hashes whose standing may have changed; `act(sha)` is the entry as it counts,
    or None; `trouble(sha)` the problems of the entry itself by key.
    """

    def __init__(self, is_valid: Callable[[str, int, Any], bool] = kinds.is_valid_body) -> None:
        self.entries: dict[str, Entry] = {}
        self._is_valid = is_valid
        self._by_id: dict[str, list[str]] = defaultdict(list)
        self._by_target: dict[str, set[str]] = defaultdict(set)
        self._accepts: dict[str, set[str]] = defaultdict(set)
        self._alive: dict[str, bool] = {}

    # adding

    def add(self, entry: Entry) -> set[str]:
        """Takes an entry in, or its newer standing in the feed; returns every hash it may touch."""
        known = self.entries.get(entry.sha256)
        if known is not None and known == entry:
            return set()
        self.entries[entry.sha256] = entry
        if known is None:
            self._index(entry)
        touched = self._downstream(entry.sha256)
        for sha in self._by_id[entry.id] if entry.id else ():
            touched |= self._downstream(sha)
        for sha in touched:
            self._alive.pop(sha, None)
        return touched

    def _index(self, entry: Entry) -> None:
        if entry.id:
            self._by_id[entry.id].append(entry.sha256)
        if entry.kind in MENDING and not entry.held:
            if target := entry.body.get("target"):
                self._by_target[target].add(entry.sha256)
            if problem := entry.body.get("problem"):
                self._accepts[problem].add(entry.sha256)

    def _downstream(self, sha: str) -> set[str]:
        """The hash, what it mends, what that mends, and so on."""
        seen: set[str] = set()
        todo = [sha]
        while todo:
            one = todo.pop()
            if one in seen:
                continue
            seen.add(one)
            entry = self.entries.get(one)
            if entry is None or entry.kind not in MENDING or entry.held:
                continue
            if target := entry.body.get("target"):
                todo.append(target)
            problem = str(entry.body.get("problem") or "")
            if problem.startswith(NOT_ALLOWED):
                todo.append(problem.removeprefix(NOT_ALLOWED))
        return seen

    def mends_upward(self, shas: Iterable[str]) -> set[str]:
        """The hashes, and those of entries that mend them, and so on."""
        seen: set[str] = set()
        todo = list(shas)
        while todo:
            one = todo.pop()
            if one not in seen:
                seen.add(one)
                todo.extend(self._by_target.get(one, ()))
        return seen

    # standing

    def is_alive(self, sha: str) -> bool:
        """Whether the entry is here, readable, the first of its id, and not voided."""
        todo = [sha]
        while todo:
            one = todo[-1]
            if one in self._alive:
                todo.pop()
                continue
            waiting = [dep for dep in self._depends_on(one) if dep not in self._alive]
            if waiting:
                todo.extend(waiting)
            else:
                self._alive[one] = self._judge(one)
                todo.pop()
        return self._alive[sha]

    def _depends_on(self, sha: str) -> set[str]:
        return self._by_target.get(sha, set()) | self._accepts.get(NOT_ALLOWED + sha, set())

    def _judge(self, sha: str) -> bool:
        entry = self.entries.get(sha)
        if entry is None or self._first_of_id(entry) != sha:
            return False
        if entry.held and self._decision(entry) is None:
            return False
        return not any(self._applies(void, entry) for void in self._mends(sha, "record_voided"))

    def _mends(self, sha: str, kind: str) -> list[Entry]:
        found = (self.entries[one] for one in self._by_target.get(sha, ()))
        return [entry for entry in found if entry.kind == kind]

    def _first_of_id(self, entry: Entry) -> str:
        if not entry.id or len(self._by_id[entry.id]) == 1:
            return entry.sha256
        return min(self._by_id[entry.id], key=lambda sha: (self.entries[sha].place_in_feed, sha))

    def _applies(self, mend: Entry, target: Entry) -> bool:
        return self._alive[mend.sha256] and self._is_allowed(mend, target)

    def _is_allowed(self, mend: Entry, target: Entry) -> bool:
        """A helper mends what she wrote herself; more needs a grower, before or after."""
        order = kinds.roles()
        if mend.role in order and order.index(mend.role) >= order.index("grower"):
            return True
        return mend.author == target.author or bool(self.accepted(NOT_ALLOWED + mend.sha256))

    def accepted(self, problem: str) -> str:
        """The hash of the first living entry that accepts this problem, or ""."""
        living = [sha for sha in self._accepts.get(problem, ()) if self.is_alive(sha)]
        return min(living, key=lambda sha: (self.entries[sha].place_in_feed, sha), default="")

    def _decision(self, entry: Entry) -> tuple[str, int, dict[str, Any]] | None:
        """Kind, version and body with which an entry that was set aside counts after all."""
        decided = [
            mend
            for kind in ("held_resolved", "record_reclassified")
            for mend in self._mends(entry.sha256, kind)
            if self._alive[mend.sha256]
        ]
        if not decided:
            return None
        last = max(decided, key=lambda mend: (mend.place_in_feed, mend.sha256))
        if last.kind == "held_resolved" and last.body["decision"] != "accept":
            return None
        kind = last.body.get("as_kind", entry.kind)
        v = last.body.get("as_v", entry.v if kind == entry.kind else 1)
        body = last.body.get("as_body", entry.body)
        if kind in MENDING or not self._is_valid(kind, v, body):
            return None
        return kind, v, body

    def reading(self, sha: str) -> Reading | None:
        """The entry as it reads now, with every field its writers gave it; None if it does not count."""
        if not self.is_alive(sha):
            return None
        entry = self.entries[sha]
        decision = self._decision(entry) if entry.held else (entry.kind, entry.v, entry.body)
        if decision is None or decision[0] in MENDING or decision[0] not in kinds.ranks():
            return None
        kind, v, body = decision
        correction = self._correction(entry, kind, v)
        if correction is None:
            return Reading(kind, v, body, entry.occurred_on, entry.received_on)
        told = correction.body
        return Reading(
            kind,
            told.get("as_v", v),
            told["body"],
            told.get("occurred_on", entry.occurred_on),
            max(entry.received_on, correction.received_on),
        )

    def act(self, sha: str) -> Act | None:
        """The entry as it counts now; None when it does not count or only mends others."""
        reading = self.reading(sha)
        if reading is None:
            return None
        entry = self.entries[sha]
        on, key = order_key(
            entry,
            kind=reading.kind,
            rank=kinds.ranks()[reading.kind],
            occurred_on=reading.occurred_on,
            no_later_than=reading.no_later_than,
        )
        return Act(
            sha256=sha,
            kind=reading.kind,
            body=kinds.known_fields(reading.kind, reading.v, reading.body),
            on=on,
            key=key,
            clamped=on < reading.occurred_on,
            author=entry.author,
            device=entry.device,
            seq=entry.place_in_feed,
            role=entry.role,
            stamp=entry.stamp or (0, 0),
        )

    def _corrections(self, sha: str) -> Iterable[Entry]:
        """Corrections of an entry, and corrections of those."""
        todo, seen = [sha], {sha}
        while todo:
            for mend in self._mends(todo.pop(), "record_corrected"):
                if mend.sha256 not in seen:
                    seen.add(mend.sha256)
                    todo.append(mend.sha256)
                    yield mend

    def _correction(self, entry: Entry, kind: str, v: int) -> Entry | None:
        """The latest living correction that is allowed and fits the kind."""
        fitting = [
            mend
            for mend in self._corrections(entry.sha256)
            if self.is_alive(mend.sha256)
            and self._is_allowed(mend, self.entries[mend.body["target"]])
            and self._is_valid(kind, mend.body.get("as_v", v), mend.body["body"])
        ]
        return max(
            fitting,
            key=lambda mend: (mend.place_in_feed, mend.device_seq, mend.sha256),
            default=None,
        )

    # problems of the entry itself

    def trouble(self, sha: str) -> dict[str, Problem]:
        """Problems of one entry: a double id, or a mending that cannot be done."""
        entry = self.entries.get(sha)
        if entry is None:
            return {}
        found: dict[str, Problem] = {}
        first = self._first_of_id(entry)
        if first != sha:
            outs = ["accept"] if entry.held else ["count_too", "accept"]
            found[f"duplicate_id:{sha}"] = problem("duplicate_id", [first, sha], outs=outs)
        elif entry.kind in MENDING and "target" in entry.body and self.is_alive(sha):
            found |= self._mending_trouble(entry)
        return found

    def _mending_trouble(self, entry: Entry) -> dict[str, Problem]:
        sha, target = entry.sha256, self.entries.get(entry.body["target"])
        both = [entry.body["target"], sha]
        if target is None:
            return {
                f"target_missing:{sha}": problem(
                    "target_missing", [sha], outs=["void", "accept"], voidable=[sha]
                )
            }
        if entry.kind in ("record_voided", "record_corrected") and not self._is_allowed(
            entry, target
        ):
            return {
                NOT_ALLOWED + sha: problem(
                    "not_allowed", both, outs=["accept", "void"], voidable=[sha]
                )
            }
        if entry.kind == "record_corrected" and not self._fits(entry):
            return {
                f"bad_correction:{sha}": problem(
                    "bad_correction", both, outs=["void", "accept"], voidable=[sha]
                )
            }
        return {}

    def _fits(self, mend: Entry) -> bool:
        root = mend
        while root.kind == "record_corrected" and not root.held:
            above = self.entries.get(root.body["target"])
            if above is None:
                return True
            root = above
        if root.kind in MENDING:
            return False
        return self._is_valid(root.kind, mend.body.get("as_v", root.v), mend.body["body"])


def problem(
    code: str,
    records: Iterable[str],
    *,
    outs: list[str],
    voidable: Iterable[str] = (),
    **facts: int | str,
) -> Problem:
    """A contradiction in the history as a value: what, which records, figures, and the ways out."""
    return {
        "code": code,
        "records": list(records),
        "voidable": sorted(voidable),
        "facts": facts,
        "outs": outs,
        "accepted": "",
    }
