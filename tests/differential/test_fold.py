"""The server's fold and the phone's fold print the same bytes for the same feed."""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.differential.phone import PhoneFold, bundle
from tests.histories import (
    ALL_KINDS,
    CRATES,
    FARM,
    LOTS,
    MEMBERS,
    PROBLEMS,
    START_MS,
    Scribe,
    Written,
    as_entries,
    as_feed,
    histories,
    written,
)
from tubertrack.core.stock.fold import Fold, canonical
from tubertrack.core.stock.living import MENDING
from tubertrack.core.stock.ways_out import Choice, ways_out


@pytest.fixture(scope="module")
def phone() -> Iterator[PhoneFold]:
    bundle()
    with PhoneFold() as fold:
        yield fold


def pages(rnd: random.Random, size: int) -> list[slice]:
    """Slices of odd lengths that cover `size` rows."""
    cut, at = [], 0
    while at < size:
        step = rnd.randint(1, 12)
        cut.append(slice(at, at + step))
        at += step
    return cut


def assert_same(here: str, there: str, where: object) -> None:
    if here != there:
        ours, theirs = json.loads(here), json.loads(there)
        assert ours == theirs, where
        assert here == there, where


def test_random_histories_page_by_page(phone: PhoneFold) -> None:
    seen: Counter[str] = Counter()
    for seed in range(300):
        rnd = random.Random(seed)
        history = written(rnd, 45)
        entries, feed = as_entries(history), as_feed(history)
        fold = Fold()
        for i, page in enumerate(pages(rnd, len(feed))):
            fold.apply(entries[page])
            answer = phone.take(feed[page], fresh=i == 0)
            assert_same(canonical(fold.state()), answer, (seed, page))
        count_what_happened(fold, seen)
    assert {f"kind {kind}" for kind in ALL_KINDS} <= set(seen)
    assert {f"problem {code}" for code in PROBLEMS} <= set(seen)
    for what in ("corrected", "clamped", "held", "voided", "split stay"):
        assert seen[what] > 10, what
    assert seen["accepted"] > 0
    assert seen["resolved"] > 0


def count_what_happened(fold: Fold, seen: Counter[str]) -> None:
    for sha, entry in fold.living.entries.items():
        alive = fold.living.is_alive(sha)
        if not entry.held and (sha in fold.acts or (alive and entry.kind in MENDING)):
            seen[f"kind {entry.kind}"] += 1
        seen["held"] += bool(entry.held)
        seen["resolved"] += bool(entry.held) and sha in fold.acts
        seen["voided"] += not alive and not entry.held
        reading = fold.living.reading(sha)
        seen["corrected"] += reading is not None and reading.body is not entry.body
    seen["clamped"] += sum(act.clamped for act in fold.acts.values())
    for key in fold.tables["problems"]:
        found = fold.problem(key)
        assert found is not None
        seen[f"problem {found['code']}"] += 1
        seen["accepted"] += bool(found["accepted"])
    for lot in fold.tables["lots"].values():
        seen["split stay"] += any(stay["entered"] == "split" for stay in lot["stays"])


@given(histories(60), st.randoms(use_true_random=False))
@settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
def test_any_order_of_delivery(
    phone: PhoneFold, history: list[Written], rnd: random.Random
) -> None:
    fold = Fold()
    fold.apply(as_entries(history))
    feed = as_feed(history)
    rows = feed + [rnd.choice(feed) for _ in range(len(feed) // 3)]
    rnd.shuffle(rows)
    answer = ""
    for i, page in enumerate(pages(rnd, len(rows))):
        answer = phone.take(rows[page], fresh=i == 0, check=False)
    assert_same(canonical(fold.state()), answer, "any order")


def test_ways_out_are_the_same(phone: PhoneFold) -> None:
    tried: set[str] = set()
    for seed in range(60):
        history = written(random.Random(seed), 30)
        fold = Fold()
        fold.apply(as_entries(history))
        phone.take(as_feed(history), fresh=True)
        for key, found in sorted(fold.tables["problems"].items()):
            for out in found["outs"]:
                choice = Choice("2027-03-01", crate=CRATES[0])
                here = [asdict(draft) for draft in ways_out(fold, key, out, choice)]
                there = phone.way_out(key, out, {"today": choice.today, "crate": choice.crate})
                assert json.loads(there) == here, (seed, key, out)
                tried.add(out)
    assert tried == {
        "accept", "void", "recount", "there_were_more", "found", "move_here", "move_back",
        "label", "count_too", "correct",
    }  # fmt: skip


def test_poison_is_read_alike(phone: PhoneFold) -> None:
    """Texts that readers of JSON like to disagree on, as records a server has set aside or not."""

    def record(kind: str, body: str, **told: Any) -> Written:
        envelope = {
            "id": "00000000-0000-4000-8000-00000000abcd",
            "farm": FARM,
            "device": "00000000-0000-4000-8001-000000000000",
            "device_seq": 1,
            "author": "00000000-0000-4000-8000-00000000a0a0",
            "kind": kind,
            "v": 1,
            "occurred_on": "2026-10-20",
            "recorded_at": START_MS,
            **told,
        }
        text = json.dumps(envelope)[:-1] + f', "body": {body}}}'
        return Written(text.encode(), START_MS + 1, "owner")

    lot = '"lot": "00000000-0000-4000-8002-000000000001"'
    crate = '"crate": "00000000-0000-4000-8003-000000000001"'
    history = [
        record("counted", f'{{{lot}, "count": 3.0}}', id="00000000-0000-4000-8000-000000000a01"),
        record("counted", f'{{{lot}, "count": 1e1}}', id="00000000-0000-4000-8000-000000000a02"),
        record("counted", f'{{{lot}, "count": -0}}', id="00000000-0000-4000-8000-000000000a03"),
        record("counted", f'{{{lot}, "count": 2.5}}', id="00000000-0000-4000-8000-000000000a04"),
        record(
            "counted",
            f'{{{lot}, "count": 9, "count": 4}}',
            id="00000000-0000-4000-8000-000000000a05",
        ),
        record(
            "checked",
            f'{{{crate}, "look": "all", "lines": [{{{lot}, "removed": {{"__proto__": 2, "constructor": 1}}}}]}}',
            id="00000000-0000-4000-8000-000000000a06",
        ),
        record(
            "flagged",
            '{"target": "lot", "id": "00000000-0000-4000-8002-000000000001", "flag": "__proto__", "state": "suspected"}',
            id="00000000-0000-4000-8000-000000000a07",
        ),
        record(
            "field_set",
            '{"table": "crates", "row": "00000000-0000-4000-8003-000000000001",'
            ' "field": "constructor", "value": "a\\u0000\\u007f\\ud83c\\udf3c\\ud800"}',
            id="00000000-0000-4000-8000-000000000a08",
            stamp=[START_MS, 0],
        ),
        record(
            "checked",
            f'{{{crate}, "look": "top", "lines": [], "note": "\\u2028\\uffff\\udfff\\n"}}',
            id="00000000-0000-4000-8000-000000000a09",
        ),
        Written(b"{", START_MS + 2, "owner"),
        Written(b'\xef\xbb\xbf{"id": 1}', START_MS + 3, "owner"),
        Written(b"[" * 1000 + b"]" * 1000, START_MS + 4, "owner"),
        record("counted", f'{{{lot}, "count": 1}}', occurred_on="0000-00-00"),
        record(
            "counted",
            f'{{{lot}, "count": 9007199254740993}}',
            id="00000000-0000-4000-8000-000000000a10",
        ),
    ]
    fold = Fold()
    fold.apply(as_entries(history))
    assert_same(canonical(fold.state()), phone.take(as_feed(history), fresh=True), "poison")
    held = Counter(fold.state()["held"].values())
    assert held == {"bad_body": 2, "bad_envelope": 1, "unreadable": 3}


def test_lots_repacked_to_and_fro_end(phone: PhoneFold) -> None:
    """Each repacking asks where the other lot lay before: remembered, or this would never end."""
    scribe = Scribe(random.Random(1))
    for i in range(48):
        taken, given = (LOTS[0], LOTS[1]) if i % 2 else (LOTS[1], LOTS[0])
        body = {
            "crate": CRATES[i % 2],
            "from": [{"lot": taken, "count": 1}],
            "lots": [{"lot": given, "count": 1}],
        }
        scribe.write("packed", body, author=MEMBERS[0])
    history = scribe.done
    fold = Fold()
    fold.apply(as_entries(history))
    assert_same(canonical(fold.state()), phone.take(as_feed(history), fresh=True), "to and fro")
    stays = [len(fold.tables["lots"][lot]["stays"]) for lot in LOTS[:2]]
    assert sum(stays) >= 40
