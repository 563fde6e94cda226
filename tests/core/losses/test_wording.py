"""Sentences of the report: plain, and never more certain than the counts."""

import pytest

from tubertrack.core.losses import wording
from tubertrack.core.losses.crate_wilson import CrateCount, Interval, crate_wilson


@pytest.mark.parametrize(
    ("share", "words"),
    [(0, "0 %"), (0.004, "under 1 %"), (0.5, "50 %"), (0.996, "over 99 %"), (1, "100 %")],
)
def test_percent_is_never_all_or_nothing_unless_it_is(share, words) -> None:
    assert words == wording.percent(share)


def test_a_few_tubers_are_too_few_to_say() -> None:
    assert "Only 6 tubers: too few to say." == wording.guess(
        crate_wilson([CrateCount(3, 3)] * 2), "tuber"
    )


def test_one_crate_says_almost_nothing() -> None:
    found = crate_wilson([CrateCount(28, 30)])
    assert "One crate: says almost nothing; spread assumed." == wording.guess(found, "tuber")


def test_crates_that_differ_widely_widen_the_true_range() -> None:
    found = Interval(0.8, 0.7, 0.9, "crate_wilson", 40, 900, ("crates_differ_widely",))
    assert "the true range is probably wider" in wording.guess(found, "tuber")


def test_enough_counts_need_no_excuse() -> None:
    assert "" == wording.guess(crate_wilson([CrateCount(28, 30)] * 5), "tuber")


def test_no_share_says_why() -> None:
    assert "these 34 clumps since packing" in wording.guess(None, "clump", 34)
    assert "10 were packed by guess" in wording.guess(None, "tuber", 10, 10)
    assert "No counts yet." == wording.guess(None, "tuber")


def test_a_range_in_words() -> None:
    # three crates of 30 with 28, 30 and 12 sound
    found = crate_wilson([CrateCount(28, 30), CrateCount(30, 30), CrateCount(12, 30)])
    assert (
        "Allowing for crates differing: between 24 % and 98 % come through."
        == wording.limits_in_words(found)
    )


def test_causes_of_tomorrow_are_shown_as_written() -> None:
    assert "a new cause 2, rot 1" == wording.by_cause([("a_new_cause", 2), ("rot", 1)])
    assert "to the moon" == wording.way_out("to_the_moon")
    assert "3 seed trays" == wording.units(3, "seed_tray")


def test_lists_read_like_speech() -> None:
    assert ["", "a", "a and b", "a, b and c"] == [wording.listed(list("abc"[:n])) for n in range(4)]


def test_losses_nobody_went_through_are_named() -> None:
    assert wording.outside(4, "tuber").startswith(
        "4 tubers thrown out of crates nobody went through"
    )
    assert "" == wording.outside(0, "tuber") == wording.overdrawn(0, "tuber")
    assert "2 tubers more went out than came in" in wording.overdrawn(2, "tuber")
