"""The loss report over histories written in the words of the trade; every number worked out by hand."""

import random

import pytest

from tests.core.losses.winters import Winter
from tests.histories import as_entries, written
from tubertrack.core.losses.crate_wilson import CrateCount, crate_wilson
from tubertrack.core.losses.filling_lines import Dimension
from tubertrack.core.losses.groups import Row, row_of
from tubertrack.core.losses.report import LossReport, loss_report


def row(report: LossReport, label: str, unit: str = "tuber") -> Row:
    return next(
        row
        for table in report.tables
        if table.unit == unit
        for row in (table.everything, *table.rows)
        if row.key.label == label
    )


def limits(found):
    return found.share, found.low, found.high


def said(report: LossReport, topic: str) -> str:
    return " ".join(
        sentence.text
        for sentence in (*report.opening, *report.methods, *report.verdict)
        if sentence.topic == topic
    )


def two_crates() -> Winter:
    """14 tubers of Bell in two crates, both gone through once: 2 rotten, 1 dried up."""
    w = Winter()
    w.dug("2026-10-10", "clumps", 3, "Bell")
    w.divided("2026-10-12", "clumps", 3, "tray", 14, rot=3)
    w.packed("2026-11-03", "A", 8, "c1", source=("tray", 8))
    w.packed("2026-11-03", "B", 6, "c2", source=("tray", 6))
    w.checked("2026-12-01", "c1", "A", seen=8, rot=2)
    w.checked("2026-12-02", "c2", "B", seen=6, dried_up=1)
    return w


def test_a_winter_under_way_gone_through_once() -> None:
    found = row(two_crates().report(), "shavings")
    assert (found.packed.count, found.lost, found.in_store.count) == (14, 3, 11)
    assert {cause: figure.count for cause, figure in found.thrown.items()} == {
        "rot": 2,
        "dried_up": 1,
    }
    assert limits(found.came_through) == limits(crate_wilson([CrateCount(6, 8), CrateCount(5, 6)]))
    assert (found.came_through.crates, found.came_through.tubers) == (2, 14)
    assert (found.seen.seen, found.seen.not_seen) == (14, 0)


def test_figures_carry_the_crates_and_entries_they_come_from() -> None:
    w = two_crates()
    rot = row(w.report(), "shavings").thrown["rot"]
    check = next(entry.sha256 for entry in w.entries if entry.kind == "checked")
    assert (rot.crates, rot.records) == ((w("c1"),), (check,))


def test_what_was_thrown_out_at_the_bench_is_no_methods_loss() -> None:
    w = Winter()
    w.dug("2026-10-10", "clumps", 3, "Bell")
    w.divided("2026-10-12", "clumps", 3, "tray", 14, rot=3, blind=2)
    w.packed("2026-11-03", "A", 12, "c1", source=("tray", 14), thrown={"rot": 2})
    found = row(w.report(), "shavings")
    assert (found.packed.count, found.lost, found.missing.count) == (12, 0, 0)


def test_a_lot_packed_as_itself_counts_once() -> None:
    w = Winter()
    w.dug("2026-10-10", "clumps", 3, "Bell")
    w.divided("2026-10-12", "clumps", 3, "A", 14)
    w.packed("2026-11-03", "A", 11, "c1", source=("A", 14), thrown={"rot": 2})
    w.checked("2026-12-01", "c1", "A", seen=11)
    found = row(w.report(), "shavings")
    # 14 in the tray, 2 thrown out while packing, 11 counted in: one missing before packing, not after
    assert (found.packed.count, found.lost, found.missing.count, found.in_store.count) == (
        11,
        0,
        0,
        11,
    )


@pytest.mark.parametrize("divided_on", ["2026-10-12", "2026-11-03"])
@pytest.mark.parametrize("rest_first", [False, True])
def test_two_crates_filled_from_one_tray_of_which_the_rest_is_packed_as_itself(
    divided_on, rest_first
) -> None:
    w = Winter()
    w.dug("2026-10-10", "clumps", 3, "Bell")
    w.divided(divided_on, "clumps", 3, "tray", 14)
    if rest_first:
        w.packed("2026-11-03", "B", 6, "c2", source=("tray", 6))
        w.packed("2026-11-03", "tray", 8, "c1", source=("tray", 8))
    else:
        w.packed("2026-11-03", "A", 8, "c1", source=("tray", 8))
        w.packed("2026-11-03", "tray", 6, "c2", source=("tray", 6))
    report = w.report()
    found = row(report, "shavings")
    assert (found.packed.count, found.in_store.count, found.missing.count) == (14, 14, 0)
    assert set(found.packed.crates) == {w("c1"), w("c2")}
    assert (found.moved_in, found.moved_out) == (0, 0)


def test_a_first_crate_without_any_history_is_packed_not_found() -> None:
    w = Winter()
    w.packed("2026-11-03", "A", 20, "c1", variety="Bell")
    found = row(w.report(), "shavings")
    assert (found.packed.count, found.found.count) == (20, 0)


def test_a_look_on_top_vouches_for_nothing() -> None:
    w = Winter()
    w.packed("2026-11-03", "A", 34, "c1", variety="Bell")
    w.checked("2026-12-01", "c1", "A", look="top")
    found = row(w.report(), "shavings")
    assert found.came_through is None
    assert (found.seen.seen, found.seen.not_seen) == (0, 34)
    assert "34 tubers not gone through since 3 Nov." in said(w.report(), "looked_tuber")


def test_losses_seen_on_top_are_shown_but_not_in_the_share() -> None:
    w = two_crates()
    w.packed("2026-11-03", "C", 30, "c3", variety="Bell")
    w.checked("2026-12-01", "c3", "C", look="top", rot=4)
    found = row(w.report(), "shavings")
    assert (found.lost, found.outside) == (7, 4)
    assert limits(found.came_through) == limits(crate_wilson([CrateCount(6, 8), CrateCount(5, 6)]))
    assert found.by_the_book == pytest.approx(37 / 44)


def test_a_look_at_some_vouches_for_those_and_stands_for_the_crate() -> None:
    w = two_crates()
    w.packed("2026-11-03", "C", 34, "c3", variety="Bell")
    w.checked("2026-12-20", "c3", "C", look="some", seen=10, rot=2)
    found = row(w.report(), "shavings")
    expected = crate_wilson([CrateCount(6, 8), CrateCount(5, 6), CrateCount(8, 10, 34)])
    assert limits(found.came_through) == pytest.approx(limits(expected))
    assert (found.seen.not_seen, found.seen.not_seen_since.isoformat()) == (24, "2026-11-03")


def test_after_going_through_all_a_later_loss_on_top_counts_in_the_share() -> None:
    w = two_crates()
    w.checked("2027-01-10", "c1", "A", look="top", frozen=1)
    found = row(w.report(), "shavings").came_through
    assert limits(found) == limits(crate_wilson([CrateCount(5, 8), CrateCount(5, 6)]))


def test_one_tuber_sold_early_and_the_share_is_followed_day_by_day() -> None:
    w = two_crates()
    w.sold("2026-12-10", "A", 1)
    found = row(w.report(), "shavings")
    assert (found.went_out, found.in_store.count) == (1, 10)
    assert found.came_through.method == "early_leavers"
    assert row(two_crates().report(), "shavings").came_through.method == "crate_wilson"


def finished_winter() -> Winter:
    """Two crates of 20 and 10: 3 rot in store, 1 found dried up on waking, 2 missing at a recount."""
    w = Winter()
    w.packed("2026-11-03", "A", 20, "c1", variety="Bell")
    w.packed("2026-11-03", "B", 10, "c2", variety="Bell")
    w.checked("2026-12-01", "c1", "A", look="top", rot=3)
    w.counted("2027-02-01", "A", 15)
    w.woken("2027-04-10", "A", dried_up=1)
    w.woken("2027-04-12", "B")
    return w


def test_a_finished_winter_is_good_of_good_and_lost() -> None:
    found = row(finished_winter().report(), "shavings")
    assert (found.packed.count, found.lost, found.missing.count, found.brought_out.count) == (
        30,
        4,
        2,
        24,
    )
    assert found.in_store.count == 0
    assert limits(found.came_through) == limits(
        crate_wilson([CrateCount(14, 18), CrateCount(10, 10)])
    )
    assert found.worst_case == pytest.approx(24 / 30)


def test_the_worst_case_weighs_what_is_missing_against_whole_crates() -> None:
    w = Winter()
    w.packed("2026-11-03", "A", 30, "c1", variety="Bell")
    w.packed("2026-11-03", "B", 20, "c2", variety="Bell")
    w.checked("2026-12-01", "c1", "A", look="some", seen=10, rot=2)
    w.counted("2026-12-02", "B", 10)
    found = row(w.report(), "shavings")
    # 8 of 10 stand for 30, 10 of 10 for 10: (24 + 10) of 40, and 10 are missing
    assert found.came_through.share == pytest.approx(34 / 40)
    assert found.worst_case == pytest.approx(34 / 50)


def test_the_opening_reconciles_to_the_tuber() -> None:
    text = said(finished_winter().report(), "reconciliation_tuber")
    assert text == "Packed 30 tubers in 2 crates. Brought out 24, threw out 4, not accounted for 2."


def test_found_on_waking_later_still_counts_for_the_winter() -> None:
    w = finished_winter()
    w.woken("2027-04-20", "B", rot=2)
    found = row(w.report(), "shavings")
    assert (found.lost, found.brought_out.count) == (6, 22)


def test_planting_out_after_waking_changes_nothing() -> None:
    w = finished_winter()
    w.write(
        "2027-05-15",
        "planted",
        {"planting": w("row 4"), "from": [{"lot": w("B"), "count": 10}], "plants": 10},
    )
    assert row(w.report(), "shavings").brought_out.count == 24


def test_taken_back_to_the_store_after_waking_it_is_one_stay_again() -> None:
    w = finished_winter()
    w.woken("2027-04-20", "B", back=True)
    found = row(w.report(), "shavings")
    assert (found.brought_out.count, found.in_store.count, found.moved_in) == (14, 10, 0)


def test_a_recount_downwards_is_a_difference_never_a_loss() -> None:
    w = two_crates()
    w.counted("2026-12-20", "A", 4)
    found = row(w.report(), "shavings")
    assert (found.lost, found.missing.count, found.in_store.count) == (3, 2, 9)
    # the 2 are in neither side of the share
    assert limits(found.came_through) == limits(crate_wilson([CrateCount(4, 6), CrateCount(5, 6)]))


def test_a_recount_upwards_is_found() -> None:
    w = two_crates()
    w.counted("2026-12-20", "A", 7)
    assert row(w.report(), "shavings").found.count == 1


def test_what_was_in_an_emptied_crate_is_not_accounted_for() -> None:
    w = two_crates()
    w.write("2027-01-10", "emptied", {"crate": w("c1"), "lots": [w("A")]})
    found = row(w.report(), "shavings")
    assert (found.missing.count, found.in_store.count) == (6, 5)


def test_counts_by_guess_never_enter_the_share() -> None:
    w = two_crates()
    w.packed("2026-11-03", "C", 30, "c3", variety="Bell", about=True)
    w.checked("2026-12-01", "c3", "C", look="some", seen=20, rot=10)
    found = row(w.report(), "shavings")
    assert limits(found.came_through) == limits(crate_wilson([CrateCount(6, 8), CrateCount(5, 6)]))
    assert found.about == 30
    assert "30 of them packed by guess (~)." in said(w.report(), "reconciliation_tuber")


def test_more_out_than_in_is_said_and_still_balances() -> None:
    w = Winter()
    w.packed("2026-11-03", "A", 5, "c1", variety="Bell")
    w.checked("2026-12-01", "c1", "A", look="top", rot=3)
    w.checked("2026-12-02", "c1", "A", look="top", rot=3)
    found = row(w.report(), "shavings")
    assert (found.lost, found.in_store.count, found.overdrawn) == (6, -1, 1)
    assert found.balances


def test_half_a_crate_split_off_is_the_same_cluster() -> None:
    w = Winter()
    w.packed("2026-11-03", "A", 30, "c1", variety="Bell")
    w.split("2026-12-05", "A", 15, "A2", "c9")
    w.checked("2027-01-10", "c1", "A", seen=15, rot=5)
    w.checked("2027-01-10", "c9", "A2", seen=15)
    found = row(w.report(), "shavings")
    assert (found.packed.count, found.moved_in, found.moved_out, found.in_store.count) == (
        30,
        0,
        0,
        25,
    )
    assert limits(found.came_through) == limits(crate_wilson([CrateCount(25, 30)]))


def changed_method() -> Winter:
    """30 of one crate repacked from shavings into wrap in January, 2 rotten thrown out then."""
    w = Winter()
    w.packed("2026-11-03", "A", 30, "c1", variety="Bell")
    w.packed("2026-11-03", "B", 30, "c2", variety="Bell")
    w.packed("2027-01-10", "A2", 28, "c1", "wrap", source=("A", 30), thrown={"rot": 2})
    w.checked("2027-03-01", "c1", "A2", seen=28, rot=3)
    w.checked("2027-03-01", "c2", "B", seen=30)
    return w


def test_a_change_of_method_splits_the_stay() -> None:
    report = changed_method().report()
    old, new = row(report, "shavings"), row(report, "wrap")
    assert (old.packed.count, old.lost, old.moved_out, old.in_store.count) == (60, 2, 28, 30)
    assert (new.packed.count, new.moved_in, new.lost, new.in_store.count) == (0, 28, 3, 25)
    assert {old.came_through.method, new.came_through.method} == {"early_leavers"}
    assert new.came_through.share == pytest.approx(25 / 28)


def test_seen_by_variety_nothing_left_early() -> None:
    found = row(changed_method().report(Dimension.VARIETY), "Bell")
    assert (found.moved_in, found.moved_out, found.lost) == (0, 0, 5)
    assert limits(found.came_through) == limits(
        crate_wilson([CrateCount(25, 30), CrateCount(30, 30)])
    )


def test_a_crate_carried_elsewhere_is_one_stay_by_method_and_two_by_place() -> None:
    w = two_crates()
    w.moved("2026-12-20", "c1", "garage")
    w.checked("2027-01-10", "c1", "A", seen=6, frozen=4)
    by_method = row(w.report(), "shavings")
    assert (by_method.moved_in, by_method.moved_out) == (0, 0)
    assert limits(by_method.came_through) == limits(
        crate_wilson([CrateCount(2, 8), CrateCount(5, 6)])
    )
    cellar, garage = (row(w.report(Dimension.PLACE), place) for place in ("cellar", "garage"))
    assert (cellar.packed.count, cellar.moved_out, cellar.lost) == (14, 6, 3)
    assert (garage.packed.count, garage.moved_in, garage.lost) == (0, 6, 4)


def test_clumps_stored_whole_stand_apart() -> None:
    w = two_crates()
    w.packed("2026-11-05", "whole", 10, "c7", "soil on", variety="Bell", unit="clump")
    w.checked("2026-12-05", "c7", "whole", seen=10, rot=2)
    w.divided("2027-03-20", "whole", 8, "spring tubers", 30, rot=6)
    report = w.report()
    assert [table.unit for table in report.tables] == ["tuber", "clump"]
    clumps = row(report, "soil on", "clump")
    assert (clumps.packed.count, clumps.lost, clumps.brought_out.count, clumps.in_store.count) == (
        10,
        2,
        8,
        0,
    )
    assert clumps.cut_away.count == 6
    assert report.tables[0].everything.packed.count == 14
    assert said(report, "reconciliation_clump").startswith("Packed 10 clumps in 1 crate.")


def test_units_are_never_put_in_one_row() -> None:
    w = two_crates()
    w.packed("2026-11-05", "whole", 10, "c7", variety="Bell", unit="clump")
    lines = w.lines()
    with pytest.raises(ValueError, match="Units are counted apart"):
        row_of(lines[0].crate, lines, Dimension.METHOD)


def test_unsure_tubers_judged_again_leave_sound_and_the_blind_are_no_loss() -> None:
    w = two_crates()
    w.write(
        "2027-01-05",
        "graded",
        {
            "from": [{"lot": w("A"), "count": 6}],
            "into": [{"lot": w("A showing"), "count": 4, "eyes": "showing"}],
            "discarded": {"blind": 2},
        },
    )
    found = row(w.report(), "shavings")
    assert (found.lost, found.moved_out, found.in_store.count) == (3, 2, 9)
    assert found.came_through.method == "early_leavers"


def test_without_accidents() -> None:
    w = Winter()
    for n in range(4):
        w.packed("2026-11-03", f"L{n}", 30, f"c{n}", variety="Bell")
    w.checked("2027-02-01", "c0", "L0", seen=30, frozen=24)
    w.checked("2027-02-01", "c1", "L1", seen=30, rot=3)
    w.checked("2027-02-01", "c2", "L2", seen=30)
    w.checked("2027-02-01", "c3", "L3", seen=30)
    found = row(w.report(), "shavings")
    assert found.came_through.share == pytest.approx(93 / 120)
    # the frozen ones were at risk of rot until they froze, so the 3 count against 97 to 120
    assert 1 - 3 / 96 < found.without_accidents.share < 1 - 3 / 120
    assert "Without accidents (frozen 24): 97 % came through." == said(
        w.report(), "accidents_tuber"
    )


def test_the_three_worst_crates_by_name() -> None:
    w = Winter()
    for n, lost in enumerate((1, 18, 0, 4, 4)):
        w.packed("2026-11-03", f"L{n}", 40 if n == 3 else 30, f"c{n}", variety="Bell")
        w.checked(
            "2027-02-01",
            f"c{n}",
            f"L{n}",
            seen=40 if n == 3 else 30,
            **({"rot": lost} if lost else {}),
        )
    worst = w.report().worst
    assert [crate.text for crate in worst] == [
        "Crate c1: 18 of 30 tubers (rot 18)",
        "Crate c4: 4 of 30 tubers (rot 4)",
        "Crate c3: 4 of 40 tubers (rot 4)",
    ]
    assert worst[0].varieties == ("Bell",)


def test_a_verdict_names_varieties_to_split() -> None:
    w = Winter()
    for method, sound in (("shavings", 26), ("wrap", 28)):
        for n, variety in enumerate(("Bell", "Tallow")):
            lot = f"{method}{n}"
            w.packed("2026-11-03", lot, 30, f"c {lot}", method, variety=variety)
            w.checked("2027-02-01", f"c {lot}", lot, seen=30, rot=30 - sound)
    report = w.report()
    assert said(report, "verdict") == "So far: not enough to change."
    assert said(report, "next") == (
        "Split these 2 varieties (Bell and Tallow) next autumn: half the crates of each into wrap, "
        "half into shavings, drawn by lot."
    )
    assert "the ranges overlap." in said(report, "method_against_method")
    assert "Not the same varieties" not in said(report, "method_against_method")


def test_a_method_tried_on_easy_varieties_only_is_called_out() -> None:
    w = Winter()
    for method, varieties in (("shavings", ("Bell", "Queen", "Giantess")), ("wrap", ("Bell",))):
        for variety in varieties:
            for n in range(2):
                lot = f"{method} {variety} {n}"
                w.packed("2026-11-03", lot, 30, f"c {lot}", method, variety=variety)
                w.checked(
                    "2027-02-01", f"c {lot}", lot, seen=30, rot=2 if variety == "Bell" else 12
                )
    assert "Not the same varieties (1 and 3, 1 in both), so they may be the reason." in said(
        w.report(), "method_against_method"
    )


def filled(
    w: Winter, method: str, crates: int, sound: int, of: int = 30, variety: str = "Bell"
) -> None:
    for n in range(crates):
        lot = f"{method} {n}"
        w.packed("2026-11-03", lot, of, f"c {lot}", method, variety=variety)
        w.checked(
            "2027-02-01", f"c {lot}", lot, seen=of, **({"rot": of - sound} if of > sound else {})
        )
        w.woken("2027-04-10", lot)


def test_ranges_that_keep_apart_are_a_difference_in_these_records() -> None:
    w = Winter()
    filled(w, "shavings", 12, 12)
    filled(w, "wrap", 12, 29)
    report = w.report()
    assert not report.is_under_way
    assert "shavings lost more than wrap in these records." == said(report, "verdict")
    assert "the ranges keep apart." in said(report, "method_against_method")


def test_the_same_while_the_winter_is_under_way_is_so_far() -> None:
    w = Winter()
    filled(w, "shavings", 12, 12)
    filled(w, "wrap", 12, 29)
    w.packed("2026-11-03", "rest", 10, "c rest", "wrap", variety="Bell")
    assert "So far shavings lost more than wrap in these records." == said(w.report(), "verdict")


def test_too_few_of_each_variety_to_split_says_pack_more() -> None:
    w = Winter()
    filled(w, "shavings", 2, 5, of=6)
    filled(w, "wrap", 2, 6, of=6)
    report = w.report()
    assert "Split this variety (Bell)" in said(report, "next")
    w = Winter()
    for n in range(8):
        method = "wrap" if n % 2 else "shavings"
        w.packed("2026-11-03", f"{n}", 6, f"c{n}", method, variety=f"variety {n}")
        w.checked("2027-02-01", f"c{n}", f"{n}", seen=6)
    assert said(w.report(), "next").startswith("Pack more of each variety before comparing")


def test_one_method_with_few_tubers_keeps_counting() -> None:
    w = Winter()
    filled(w, "shavings", 1, 5, of=6)
    assert said(w.report(), "next").startswith("Keep counting: shavings needs more tubers")


def test_two_methods_with_one_crate_each_cannot_be_compared() -> None:
    w = Winter()
    filled(w, "shavings", 1, 25)
    filled(w, "wrap", 1, 29)
    assert "Too few counts to compare storage methods." == said(w.report(), "verdict")
    assert said(w.report(), "next").startswith("Next winter pack two crates or more")


def test_without_a_method_written_down_it_says_where_to_choose_one() -> None:
    w = Winter()
    w.packed("2026-11-03", "A", 20, "c1", "", variety="Bell")
    assert "No storage method was written down, so there is nothing to compare." == said(
        w.report(), "verdict"
    )


def test_many_crates_that_differ_widely_carry_a_caution() -> None:
    w = Winter()
    for n in range(24):
        w.packed("2026-11-03", f"{n}", 30, f"c{n}", variety="Bell")
        w.checked("2027-02-01", f"c{n}", f"{n}", seen=30, **({} if n % 3 else {"rot": 28}))
    assert "crates_differ_widely" in row(w.report(), "shavings").came_through.notes


def test_one_method_has_nothing_to_compare_with() -> None:
    assert "nothing to compare it with" in said(two_crates().report(), "verdict")


def test_nothing_packed_says_so_and_what_to_do() -> None:
    report = Winter().report()
    assert report.tables == ()
    assert said(report, "nothing") == "Nothing was packed in the winter 2026/27."
    assert said(report, "next") == "Pack and count a crate."


def test_a_report_as_of_a_day_knows_nothing_later() -> None:
    found = row(finished_winter().report(as_of="2026-12-31"), "shavings")
    assert (found.lost, found.missing.count, found.brought_out.count, found.in_store.count) == (
        3,
        0,
        0,
        27,
    )


@pytest.mark.parametrize("seed", range(25))
def test_any_history_balances_to_the_tuber(seed: int) -> None:
    w = Winter()
    w.entries = as_entries(written(random.Random(seed), 90))
    lines = w.lines(as_of="2030-01-01")
    for by in Dimension:
        report = loss_report(lines, winter="any", by=by, as_of=lines[0].since if lines else None)
        for table in report.tables:
            assert all(one.balances for one in (table.everything, *table.rows))
            assert table.everything.in_store.count == sum(one.in_store.count for one in table.rows)
            assert table.everything.packed.count == sum(one.packed.count for one in table.rows)
            assert table.everything.lost == sum(one.lost for one in table.rows)


@pytest.mark.parametrize("seed", range(25))
def test_what_the_lines_hold_is_what_the_ledger_holds(seed: int) -> None:
    w = Winter()
    w.entries = as_entries(written(random.Random(1000 + seed), 90))
    pages = w.fold().tables["lots"]
    last = {line.lot: line for line in w.lines(as_of="2030-01-01")}
    for lot, line in last.items():
        if line.until is None:
            assert pages[lot]["balance"] == line.in_store
