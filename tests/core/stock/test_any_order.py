"""One history gives one state, however it is delivered."""

from __future__ import annotations

import random

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.histories import Written, as_entries, histories
from tubertrack.core.stock.entries import Entry
from tubertrack.core.stock.fold import Changed, Fold, canonical
from tubertrack.core.stock.ledger import IN, OUT

TABLES = [
    "lots",
    "crates",
    "postings",
    "checks",
    "readings",
    "rounds",
    "plantings",
    "promises",
    "problems",
]


def pages(entries: list[Entry], rnd: random.Random) -> list[list[Entry]]:
    """The entries cut into pages of odd sizes, some delivered twice."""
    cut, i = [], 0
    while i < len(entries):
        size = rnd.randint(1, 7)
        page = entries[i : i + size]
        cut += [page, page] if rnd.randrange(4) == 0 else [page]
        i += size
    return cut


def from_nothing(entries: list[Entry]) -> str:
    fold = Fold()
    fold.apply(entries)
    return canonical(fold.state())


@given(histories(), st.randoms(use_true_random=False))
@settings(max_examples=120, deadline=None)
def test_order_doubles_and_paging_do_not_matter(history: list[Written], rnd: random.Random) -> None:
    entries = as_entries(history)
    shuffled = list(entries)
    rnd.shuffle(shuffled)
    fold = Fold()
    for page in pages(shuffled, rnd):
        fold.apply(page)
    assert canonical(fold.state()) == from_nothing(entries)


@given(histories(25), st.randoms(use_true_random=False))
@settings(max_examples=60, deadline=None)
def test_every_prefix_equals_folding_it_from_nothing(
    history: list[Written], rnd: random.Random
) -> None:
    entries = as_entries(history)
    rnd.shuffle(entries)
    fold = Fold()
    for i, entry in enumerate(entries):
        before = {name: dict(fold.tables[name]) for name in TABLES}
        changed = fold.apply([entry])
        assert canonical(fold.state()) == from_nothing(entries[: i + 1])
        assert_told_what_changed(before, fold, changed)


def assert_told_what_changed(
    before: dict[str, dict[str, object]], fold: Fold, changed: Changed
) -> None:
    for name in TABLES:
        now = fold.tables[name]
        different = {
            key for key in before[name].keys() | now.keys() if before[name].get(key) != now.get(key)
        }
        assert different <= changed[name], name


@given(histories(25), st.randoms(use_true_random=False))
@settings(max_examples=60, deadline=None)
def test_a_record_that_gets_its_number_later_reads_as_if_it_always_had_it(
    history: list[Written], rnd: random.Random
) -> None:
    entries = as_entries(history)
    fold = Fold()
    fold.apply([unsettled(entry) for entry in entries if not entry.held and rnd.randrange(2)])
    for page in pages(entries, rnd):
        fold.apply(page)
    assert canonical(fold.state()) == from_nothing(entries)


def unsettled(entry: Entry) -> Entry:
    return Entry(
        **{name: getattr(entry, name) for name in Entry.__slots__}
        | {
            "seq": None,
            "received_at": entry.recorded_at,
            "received_on": entry.recorded_on,
            "recorded_on": entry.recorded_on,
        }
    )


@given(histories())
@settings(max_examples=100, deadline=None)
def test_every_lot_adds_up_after_every_prefix(history: list[Written]) -> None:
    fold = Fold()
    for entry in as_entries(history):
        fold.apply([entry])
        for lot, page in fold.tables["lots"].items():
            accounts = page["accounts"]
            came = sum(accounts.get(name, 0) for name in IN) + accounts.get("difference", 0)
            went = sum(accounts.get(name, 0) for name in OUT)
            assert came == page["balance"] + went, lot
            assert accounts.keys() <= {*IN, *OUT, "difference"}


@given(histories())
@settings(max_examples=60, deadline=None)
def test_what_one_lot_hands_on_another_receives(history: list[Written]) -> None:
    fold = Fold()
    fold.apply(as_entries(history))
    handed: dict[str, int] = {}
    for row in fold.tables["postings"].values():
        if row["account"] in ("transfer_in", "transfer_out"):
            handed[row["record"]] = handed.get(row["record"], 0) + row["amount"]
    assert set(handed.values()) <= {0}
