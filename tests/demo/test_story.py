"""The demo farm tells the story it promises, byte for byte the same each time."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

import pytest

from fixtures_demo.tarrowby import AS_OF, METHODS, VARIETIES, Story, tarrowby
from tests.histories import Written, as_entries
from tubertrack.core.stock.fold import Fold

FARM = "00000000-0000-4000-8000-000000000fa0"


def folded(story: Story) -> Fold:
    roles = {person.device: person.role for person in story.people}
    history = [
        Written(raw, at, roles[device])
        for device, at, raws in story.scribe.pushes()
        for raw in raws
    ]
    fold = Fold()
    fold.apply(as_entries(history))
    return fold


@pytest.fixture(scope="module")
def fold() -> Fold:
    return folded(tarrowby(farm=FARM))


def packed_in(fold: Fold, start: date) -> list[dict[str, object]]:
    end = start + timedelta(days=200)
    lots = fold.tables["lots"].values()
    return [lot for lot in lots if start.isoformat() <= lot["packed_on"] < end.isoformat()]


def test_the_same_seed_and_day_give_the_same_bytes() -> None:
    first, second = tarrowby(farm=FARM), tarrowby(farm=FARM)
    assert [one.raw for one in first.scribe.done] == [one.raw for one in second.scribe.done]
    other = tarrowby(farm=FARM, seed=1)
    assert [one.raw for one in other.scribe.done] != [one.raw for one in first.scribe.done]


def test_nothing_is_set_aside_and_only_the_told_mishaps_do_not_add_up(fold: Fold) -> None:
    assert fold.state()["held"] == {}
    codes = Counter(problem["code"] for problem in fold.tables["problems"].values())
    assert codes == {"counts_differ": 1, "emptied_with_stock": 1, "promised_short": 1}
    facts = {p["code"]: p["facts"] for p in fold.tables["problems"].values()}
    assert {34, 31} == {facts["counts_differ"]["first"], facts["counts_differ"]["second"]}
    assert (12, 9) == (facts["promised_short"]["promised"], facts["promised_short"]["there"])
    faded = [lot for lot in fold.tables["lots"].values() if lot["variety"] == "unknown"]
    assert [lot["balance"] for lot in faded] == [23]


def test_three_winters_of_the_told_size(fold: Fold) -> None:
    winters = [packed_in(fold, date(year, 10, 1)) for year in (2023, 2024, 2025)]
    assert [26, 40, 60] == [len(winter) for winter in winters]
    tubers = sum(lot["packed_count"] for lot in winters[2] if lot["unit"] == "tuber")  # type: ignore[misc]
    assert 1450 <= tubers <= 1550


def test_fourteen_varieties_five_methods_and_a_frost_night(fold: Fold) -> None:
    assert 14 == len(VARIETIES) == len(fold.rows["varieties"])
    assert 5 == len(METHODS) == len(fold.rows["methods"])
    frozen = sum(
        line["removed"].get("frozen", 0)
        for check in fold.tables["checks"].values()
        for line in check["lines"]
    )
    assert 58 == frozen
    assert min(r["temp_milli_c"] for r in fold.tables["readings"].values()) == -4200


def test_another_day_moves_the_whole_story() -> None:
    moved = folded(tarrowby(farm=FARM, as_of=AS_OF + timedelta(days=10)))
    latest = max(act.on for act in moved.acts.values())
    assert (AS_OF + timedelta(days=9)).isoformat() == latest
    assert moved.rows["settings"][FARM]["as_of"]["value"] == "2026-01-30"
