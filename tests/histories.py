"""Random histories of a farm, sensible and senseless, as the bytes that phones send.

`histories()` is a Hypothesis strategy; `written(random, size)` makes one from a random source.
`as_entries` and `as_feed` give them numbers as a server would. The farm's zone is UTC here.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import random
import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from hypothesis import strategies as st

from tubertrack.core.stock import kinds
from tubertrack.core.stock.entries import Entry
from tubertrack.core.sync.chain import START, Link, next_chain
from tubertrack.core.sync.envelope import Unreadable, read_envelope
from tubertrack.core.sync.feed import entry_from
from tubertrack.core.sync.stamps import effective_stamp
from tubertrack.core.sync.verdicts import verdict

DAY_MS = 86_400_000
START_MS = int(dt.datetime(2026, 10, 20, 8, tzinfo=dt.UTC).timestamp() * 1000)
FARM = "00000000-0000-4000-8000-000000000fa0"
ROLES = {
    "00000000-0000-4000-8000-00000000a0a0": "owner",
    "00000000-0000-4000-8000-00000000b0b0": "grower",
    "00000000-0000-4000-8000-00000000c0c0": "helper",
    "00000000-0000-4000-8000-00000000d0d0": "helper",
    "00000000-0000-4000-8000-00000000e0e0": "viewer",
}
MEMBERS = tuple(ROLES)
SERVER = "00000000-0000-4000-8000-00000000ffff"


def _pool(sort: int, size: int) -> tuple[str, ...]:
    return tuple(f"00000000-0000-4000-8{sort:03d}-{i:012d}" for i in range(size))


DEVICES, LOTS, CRATES = _pool(1, 3), _pool(2, 7), _pool(3, 4)
PLACES, VARIETIES, METHODS = _pool(4, 2), _pool(5, 3), _pool(6, 2)
PLANTINGS, ROUNDS, ORDERS = _pool(7, 2), _pool(8, 2), _pool(9, 2)
CODES = ("4K7QM2X1", "9M2X4K7Q", "00000002", "Z9Z9Z9Z9")
CAUSES = ("rot", "dried_up", "frozen", "a_cause_of_tomorrow")


@dataclass(frozen=True)
class Written:
    """A record as bytes, and when and with what role it reached the server."""

    raw: bytes
    received_at: int
    role: str

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.raw).hexdigest()


def civil(ms: int) -> str:
    """The date of a moment in the farm's zone, here UTC."""
    return dt.datetime.fromtimestamp(ms / 1000, dt.UTC).date().isoformat()


class Scribe:
    """Writes records one after the other; each may refer to what was written before."""

    def __init__(self, rnd: random.Random) -> None:
        self.rnd = rnd
        self.now = START_MS
        self.done: list[Written] = []
        self.envelopes: list[dict[str, Any]] = []
        self.seqs = dict.fromkeys((*DEVICES, SERVER), 0)

    # small choices

    def one(self, pool: Sequence[Any]) -> Any:
        return pool[self.rnd.randrange(len(pool))]

    def some(self, pool: Sequence[Any], most: int) -> list[Any]:
        return [self.one(pool) for _ in range(self.rnd.randint(1, most))]

    def chance(self, percent: int) -> bool:
        return self.rnd.randrange(100) < percent

    def n(self, most: int = 9) -> int:
        return self.rnd.randint(0, most)

    def maybe(self, body: dict[str, Any], **fields: Callable[[], Any]) -> dict[str, Any]:
        return body | {name: make() for name, make in fields.items() if self.chance(50)}

    def causes(self) -> dict[str, int]:
        return {self.one(CAUSES): self.rnd.randint(1, 3) for _ in range(self.rnd.randint(1, 2))}

    def variety(self) -> str:
        return "unknown" if self.chance(30) else str(self.one(VARIETIES))

    def lines_from(self, most: int = 2) -> list[dict[str, Any]]:
        return [
            self.maybe({"lot": lot, "count": self.n(12)}, thrown_out=self.causes)
            for lot in self.some(LOTS, most)
        ]

    def lines_into(self, most: int = 2) -> list[dict[str, Any]]:
        return [
            self.maybe(
                {"lot": lot, "count": self.n(12)},
                container=lambda: self.one(CRATES),
                eyes=lambda: self.one(("showing", "unsure")),
                variety=self.variety,
                unit=lambda: self.one(("tuber", "clump")),
                code=lambda: self.one(CODES),
            )
            for lot in self.some(LOTS, most)
        ]

    def earlier(self) -> dict[str, Any]:
        """A target: mostly something written before, often another mending."""
        if not self.done or self.chance(4):
            return {"target": hashlib.sha256(str(self.n()).encode()).hexdigest()}
        mending = [i for i, e in enumerate(self.envelopes) if "target" in e["body"]]
        i = self.one(mending) if mending and self.chance(35) else self.rnd.randrange(len(self.done))
        return {"target": self.done[i].sha256, "target_id": self.envelopes[i]["id"]}

    # writing

    def write(self, kind: str, body: dict[str, Any], **told: Any) -> None:
        """Appends one record with a plausible envelope; `told` overrides its fields."""
        self.now += self.rnd.choice((0, 60_000, 3_600_000, 20 * 3_600_000))
        role = told.pop("role", None)
        author = self.one(MEMBERS[:4]) if not self.chance(2) else MEMBERS[4]
        device = SERVER if role == "server" else self.one(DEVICES)
        self.seqs[device] += 1
        envelope: dict[str, Any] = {
            "id": str(uuid.UUID(int=self.rnd.getrandbits(128), version=4)),
            "farm": FARM,
            "device": device,
            "device_seq": self.seqs[device],
            "author": author,
            "kind": kind,
            "v": 1,
            "occurred_on": self.date(),
            "recorded_at": self.now - self.rnd.choice((0, 0, 0, DAY_MS, -400 * DAY_MS)),
            "body": body,
            **told,
        }
        if kind == "field_set":
            envelope["stamp"] = [envelope["recorded_at"], self.n(3)]
        if self.envelopes and self.chance(2):
            envelope["id"] = self.one(self.envelopes)["id"]
        raw = json.dumps(envelope, separators=(",", ":"), ensure_ascii=self.chance(50)).encode()
        self.envelopes.append(envelope)
        late = self.rnd.choice((0, 0, 1000, DAY_MS, 30 * DAY_MS))
        own = role or ROLES[envelope["author"]]
        self.done.append(Written(raw, self.now + late, own))

    def date(self) -> str:
        shift = self.rnd.choice((0, 0, 0, 0, 0, -1, -21, 1, 200))
        return civil(self.now + shift * DAY_MS)

    def any_kind(self) -> None:
        """Writes a record of some kind; the busy kinds more often."""
        kind = self.one(_OFTEN) if self.chance(60) else self.one(sorted(_MAKERS))
        body = _MAKERS[kind](self)
        if self.chance(10):
            body["a_field_of_tomorrow"] = {"lot": 7}
        told: dict[str, Any] = {"role": "server"} if kind == "record_reclassified" else {}
        if self.chance(1):
            body = {"lot": "nothing", "count": -1}
        if self.chance(1):
            told |= {"v": 2}
        self.write(kind, body, **told)


def _corrected(s: Scribe) -> dict[str, Any]:
    body = s.earlier()
    i = next((i for i, w in enumerate(s.done) if w.sha256 == body["target"]), None)
    root = s.envelopes[i] if i is not None else None
    while root is not None and root["kind"] == "record_corrected":
        above = root["body"].get("target")
        i = next((i for i, w in enumerate(s.done) if w.sha256 == above), None)
        root = s.envelopes[i] if i is not None else None
    kind = root["kind"] if root is not None and root["kind"] in _MAKERS else "counted"
    as_body = _MAKERS[kind](s) if not s.chance(10) else {"lot": 5}
    return s.maybe({**body, "body": as_body}, occurred_on=s.date)


def _held_resolved(s: Scribe) -> dict[str, Any]:
    return s.maybe(
        s.earlier() | {"decision": s.one(("accept", "accept", "leave"))},
        as_kind=lambda: "counted",
        as_body=lambda: _MAKERS["counted"](s),
    ) | ({"as_v": 1} if s.chance(50) else {})


def _accepted(s: Scribe) -> dict[str, Any]:
    codes = ("not_allowed", "duplicate_id", "date_clamped", "target_missing")
    return {"problem": f"{s.one(codes)}:{s.earlier()['target']}"}


def _split(s: Scribe) -> dict[str, Any]:
    body = {"from": s.lines_from(), "into": s.lines_into()}
    if s.chance(60):
        lot, count = s.one(LOTS), s.n(12)
        into = s.lines_into(1)
        body = {"from": [{"lot": lot, "count": count}], "into": [{**into[0], "count": count}]}
    return body


def _checked(s: Scribe) -> dict[str, Any]:
    where = {"crate": s.one(CRATES)} if s.chance(80) else {"code": s.one(CODES)}
    look = s.one(("top", "some", "all"))
    lines = [
        s.maybe(
            {"lot": lot},
            expected=lambda: s.n(20),
            seen=lambda: s.n(20),
            all=lambda: look == "all",
            removed=s.causes,
            noted=lambda: {"wrinkled": 2},
        )
        for lot in s.some(LOTS, 2)
    ]
    return s.maybe(
        {**where, "look": look, "lines": lines if s.chance(90) else []},
        round=lambda: s.one(ROUNDS),
        unassigned=s.causes,
        inside_temp_c=lambda: s.rnd.choice((5, 5.5, 7.25)),
        look_again_on=s.date,
        note=lambda: "soft crown \u2014 trimmed",
    )


_MAKERS: dict[str, Callable[[Scribe], dict[str, Any]]] = {
    "field_set": lambda s: {
        "table": s.one(("varieties", "places", "methods", "crates", "settings")),
        "row": s.one((*VARIETIES, *PLACES, *METHODS, *CRATES, FARM)),
        "field": s.one(("name", "number", "archived")),
        "value": s.one(("Oddny Larkvane", "Gr\u00e4fin \U0001f33c", 12, True, None)),
    },
    "same_as": lambda s: {"table": "varieties", "row": s.one(VARIETIES), "into": s.one(VARIETIES)},
    "labelled": lambda s: {
        "code": s.one(CODES),
        **s.one(
            (
                {"target": "crate", "id": s.one(CRATES)},
                {"target": "lot", "id": s.one(LOTS)},
                {"target": "planting", "id": s.one(PLANTINGS)},
                {"target": "place", "id": s.one(PLACES)},
            )
        ),
    },
    "printed": lambda s: s.maybe(
        {"codes": s.some(CODES, 3), "stock": "a4_21"}, copies=lambda: s.rnd.randint(1, 3)
    ),
    "identified": lambda s: {
        **s.one(({"lot": s.one(LOTS)}, {"planting": s.one(PLANTINGS)})),
        "variety": s.variety(),
    },
    "planted": lambda s: s.maybe(
        {"planting": s.one(PLANTINGS)},
        **{"from": lambda: s.lines_from(2)},
        variety=s.variety,
        plants=s.n,
        bed=lambda: "2",
        row=lambda: "4",
        from_planting=lambda: s.one(PLANTINGS),
    ),
    "emerged": lambda s: s.maybe({"planting": s.one(PLANTINGS)}, plants=s.n, missing=s.n),
    "rogued": lambda s: s.maybe({"planting": s.one(PLANTINGS)}, removed=s.causes),
    "kept_in_ground": lambda s: s.maybe({"planting": s.one(PLANTINGS)}, plants=s.n),
    "tended": lambda s: {"planting": s.one(PLANTINGS), "task": "staked"},
    "stems_cut": lambda s: {"planting": s.one(PLANTINGS), "stems": s.n()},
    "marked": lambda s: {
        "planting": s.one(PLANTINGS),
        "mark": s.one(("take_stock", "let_go", "suspect")),
    },
    "flagged": lambda s: {
        **s.one(
            (
                {"target": "lot", "id": s.one(LOTS)},
                {"target": "planting", "id": s.one(PLANTINGS)},
                {"target": "crate", "id": s.one(CRATES)},
            )
        ),
        "flag": "gall",
        "state": s.one(("suspected", "cleared")),
    },
    "dug": lambda s: s.maybe(
        {
            "lots": [
                s.maybe(
                    {"lot": lot, "count": s.n()}, variety=s.variety, container=lambda: s.one(CRATES)
                )
                for lot in s.some(LOTS, 2)
            ]
        },
        planting=lambda: s.one(PLANTINGS),
        variety=s.variety,
        rotted=s.n,
    ),
    "divided": lambda s: s.maybe(
        {"from": s.lines_from(), "into": s.lines_into()},
        discarded=s.causes,
        container=lambda: s.one(CRATES),
    ),
    "graded": lambda s: s.maybe(
        {"from": s.lines_from(), "into": s.lines_into()}, discarded=s.causes
    ),
    "split": _split,
    "curing_started": lambda s: s.maybe(
        {"lots": s.some(LOTS, 2)},
        place=lambda: s.one(PLACES),
        washed=lambda: True,
        cut=lambda: False,
    ),
    "curing_ended": lambda s: {"lots": s.some(LOTS, 2)},
    "packed": lambda s: s.maybe(
        {
            "crate": s.one(CRATES),
            "from": s.lines_from() if s.chance(60) else [],
            "lots": [s.maybe(line, about=lambda: True) for line in s.lines_into()],
        },
        method=lambda: s.one(METHODS),
        moisture=lambda: s.one(("dry", "damp")),
        place=lambda: s.one(PLACES),
        position=lambda: str(s.n()),
        mass_g=lambda: s.n(9000),
    ),
    "round_started": lambda s: {"round": s.one(ROUNDS), "place": s.one(PLACES), "look": "top"},
    "round_ended": lambda s: s.maybe({"round": s.one(ROUNDS)}, not_seen=lambda: s.some(CRATES, 2)),
    "measured": lambda s: {
        **s.one(({"place": s.one(PLACES)}, {"crate": s.one(CRATES)})),
        "readings": [
            s.maybe(
                {"measured_at": s.now},
                temp_c=lambda: s.rnd.choice((6.1, 4, -0.05, 6.0005, 61)),
                rh_pct=lambda: s.rnd.choice((84, 84.5)),
            )
            for _ in range(s.rnd.randint(1, 2))
        ],
    },
    "logged": lambda s: {
        "sha256": "ab" * 32,
        "rows": 4,
        "from": 1,
        "to": 2,
        "place": s.one(PLACES),
    },
    "checked": _checked,
    "moved": lambda s: s.one(
        (
            s.maybe({"crate": s.one(CRATES), "place": s.one(PLACES)}, position=lambda: str(s.n())),
            {"crate": s.one(CRATES), "position": str(s.n())},
            {"lot": s.one(LOTS), "container": s.one(CRATES)},
        )
    ),
    "counted": lambda s: s.maybe({"lot": s.one(LOTS), "count": s.n(20)}, about=lambda: True),
    "found": lambda s: s.maybe(
        {"lot": s.one(LOTS), "unit": s.one(("tuber", "clump")), "count": s.n()},
        variety=s.variety,
        container=lambda: s.one(CRATES),
        about=lambda: True,
        code=lambda: s.one(CODES),
    ),
    "emptied": lambda s: s.maybe({"crate": s.one(CRATES)}, lots=lambda: s.some(LOTS, 2)),
    "gone_out": lambda s: s.maybe(
        {"lot": s.one(LOTS), "count": s.n(5), "how": s.one(("sold", "bin"))},
        order=lambda: s.one(ORDERS),
    ),
    "returned": lambda s: s.maybe(
        {"lot": s.one(LOTS), "count": s.n(3)},
        of=lambda: s.one(LOTS),
        container=lambda: s.one(CRATES),
    ),
    "bought": lambda s: s.maybe(
        {"lot": s.one(LOTS), "unit": "tuber", "count": s.n()},
        variety=s.variety,
        container=lambda: s.one(CRATES),
    ),
    "promised": lambda s: {
        **s.one(({"variety": s.one(VARIETIES)}, {"lot": s.one(LOTS)})),
        "count": s.n(),
        "order": s.one(ORDERS),
    },
    "woken": lambda s: s.maybe(
        {"lot": s.one(LOTS)}, showing=s.n, thrown_out=s.causes, back=lambda: True
    ),
    "struck": lambda s: {"from": [{"lot": s.one(LOTS)}], "into": s.lines_into()},
    "rooted": lambda s: {"from": s.lines_from(), "into": s.lines_into()},
    "potted": lambda s: {"from": s.lines_from(), "into": s.lines_into()},
    "record_corrected": _corrected,
    "record_voided": lambda s: s.earlier(),
    "problem_accepted": _accepted,
    "held_resolved": _held_resolved,
    "record_reclassified": lambda s: {"target": s.earlier()["target"]},
    "graft_taken": lambda s: {"lot": s.one(LOTS)},
}
_OFTEN = (
    "packed",
    "checked",
    "counted",
    "split",
    "moved",
    "emptied",
    "record_voided",
    "record_corrected",
    "divided",
)

PROBLEMS = {
    "negative_balance",
    "date_clamped",
    "duplicate_id",
    "code_on_two",
    "lot_elsewhere",
    "no_origin",
    "sums_differ",
    "check_disagrees",
    "counts_differ",
    "emptied_with_stock",
    "unassigned_loss",
    "not_allowed",
    "target_missing",
    "bad_correction",
    "unknown_code",
    "promised_short",
}


def written(rnd: random.Random, size: int) -> list[Written]:
    """A history of about `size` records, in the order in which they reached the server."""
    scribe = Scribe(rnd)
    for _ in range(size):
        scribe.any_kind()
    unique = {one.sha256: one for one in scribe.done}
    return sorted(unique.values(), key=lambda one: one.received_at)


def histories(most: int = 40) -> st.SearchStrategy[list[Written]]:
    """Hypothesis strategy of histories of up to `most` records."""
    return st.builds(written, st.randoms(use_true_random=False), st.integers(1, most))


def links(history: Sequence[Written]) -> list[tuple[Link, bytes]]:
    """What a server adds to each record, and its chain, when they arrive in this order."""
    done, chain = [], START
    for seq, one in enumerate(history, start=1):
        envelope = read_envelope(one.raw)
        bad = isinstance(envelope, Unreadable)
        recorded = one.received_at if bad else min(envelope.recorded_at, one.received_at)
        link = Link(
            sha256=one.sha256,
            seq=seq,
            received_at=one.received_at,
            received_on=civil(one.received_at),
            recorded_on=civil(recorded),
            stamp=None if bad else effective_stamp(envelope.stamp, one.received_at),
            held=verdict(
                envelope, size=len(one.raw), role=one.role, farm_id=FARM, quarantined=False
            ),
            role=one.role,
        )
        chain = next_chain(chain, link)
        done.append((link, chain))
    return done


def as_entries(history: Sequence[Written]) -> list[Entry]:
    """The entries of a feed that holds the history in this order."""
    return [
        entry_from(read_envelope(one.raw), link)
        for one, (link, _) in zip(history, links(history), strict=True)
    ]


def as_feed(history: Sequence[Written]) -> list[dict[str, Any]]:
    """The same as the rows a phone pulls."""
    rows = []
    for one, (link, chain) in zip(history, links(history), strict=True):
        row = {
            "seq": link.seq,
            "chain": chain.hex(),
            "raw": one.raw.decode(),
            "received_at": link.received_at,
            "received_on": link.received_on,
            "recorded_on": link.recorded_on,
            "role": link.role,
        }
        row |= {"held": link.held} if link.held else {}
        row |= {"stamp_eff": list(link.stamp)} if link.stamp else {}
        rows.append(row)
    return rows


ALL_KINDS = frozenset(kinds.ranks())
