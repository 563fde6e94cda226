"""Each way out that a contradiction offers is made of ordinary entries and really clears it."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from tests.histories import CRATES, PROBLEMS, Scribe, Written, as_entries, civil, written
from tubertrack.core.stock.fold import Fold
from tubertrack.core.stock.ways_out import Choice, Draft, NoWayOut, ways_out

OWNER = "00000000-0000-4000-8000-00000000a0a0"
LATER_MS = 500 * 86_400_000


def folded(history: list[Written]) -> Fold:
    fold = Fold()
    fold.apply(as_entries(history))
    return fold


def after(history: list[Written], drafts: list[Draft]) -> list[Written]:
    """The history with the drafts written by the owner, well after everything else."""
    scribe = Scribe(random.Random(7))
    scribe.now = max(one.received_at for one in history) + LATER_MS
    scribe.chance = lambda percent: False  # type: ignore[method-assign]
    for draft in drafts:
        scribe.now += 1000
        scribe.write(
            draft.kind,
            draft.body,
            occurred_on=draft.occurred_on,
            author=OWNER,
            recorded_at=scribe.now,
            device_seq=1000 + len(scribe.done),
        )
    return [*history, *(Written(one.raw, scribe.now + 5000, "owner") for one in scribe.done)]


def today(history: list[Written]) -> str:
    return civil(max(one.received_at for one in history) + LATER_MS)


def is_cleared(fold: Fold, key: str) -> bool:
    found = fold.problem(key)
    return found is None or bool(found["accepted"])


def test_every_way_out_clears_its_problem() -> None:
    tried: Counter[tuple[str, str]] = Counter()
    for seed in range(250):
        history = written(random.Random(seed), 30)
        fold = folded(history)
        for key, found in list(fold.tables["problems"].items()):
            for out in found["outs"]:
                if tried[found["code"], out] > 25:
                    continue
                for sha in found["voidable"] if out == "void" else [""]:
                    choice = Choice(today(history), record=sha, crate=CRATES[0])
                    mended = folded(after(history, ways_out(fold, key, out, choice)))
                    assert is_cleared(mended, key), (seed, key, out)
                    tried[found["code"], out] += 1
    assert {code for code, _ in tried} == PROBLEMS
    assert {out for _, out in tried} == {
        "accept",
        "void",
        "recount",
        "there_were_more",
        "found",
        "move_here",
        "move_back",
        "label",
        "count_too",
        "correct",
    }


def test_a_way_out_that_is_not_offered_is_refused() -> None:
    history = written(random.Random(3), 30)
    with pytest.raises(NoWayOut):
        ways_out(folded(history), "negative_balance:nothing:-1", "void", Choice("2027-01-01"))
