"""One winter, from the fork in the ground to the loss report, on one phone."""

import re

from playwright.sync_api import expect

VARIETY = "Pim Haddersley"


def dig_three_clumps(ana):
    ana.go("/dig")
    ana.fill("Bed", "2")
    ana.fill("Row", "4")
    ana.choose("Variety", VARIETY)
    ana.fill("Clumps dug", "3")
    ana.shot("1-dig")
    ana.tap("Save: 3 clumps dug")
    ana.said(re.compile("^Saved on this phone: .*3 clumps"))


def divide_into_fourteen(ana):
    """14 to keep; 3 thrown out: one blind, two rotten."""
    ana.go("/divide")
    ana.choose("What is being cut", VARIETY)
    ana.fill(re.compile("^Eyes showing"), "14")
    ana.fill(re.compile("^Blind, thrown out"), "1")
    ana.tap("Choose tray")
    ana.choose("Tray in use", "T1")
    ana.tap("Other thrown out")
    ana.tap("Rot")
    ana.tap(re.compile("^Rot"))
    expect(ana.page.get_by_text("Other thrown out: 2")).to_be_visible()
    ana.shot("2-divide", whole=True)
    ana.tap("Save: 14 to keep")
    ana.said(re.compile("^Saved on this phone: .*14"))


def dry_off(ana):
    ana.go("/cure")
    ana.tap(ana.page.get_by_role("checkbox", name=VARIETY))
    ana.choose("Where", "Drying rack")
    ana.shot("3-laid-out")
    ana.tap("Save: 1 laid out")
    ana.said(re.compile("laid out to dry at Drying rack"))
    ana.tap("Cured")
    ana.tap(ana.page.get_by_role("checkbox", name=VARIETY))
    ana.tap("Skin dry, cuts closed")
    ana.shot("4-cured")
    ana.tap("Save: 1 cured")
    ana.said(re.compile("^Saved on this phone: .* cured"))


def pack(ana, crate, count, *, rest_stays):
    ana.choose("Into crate", crate)
    ana.choose("What goes in", VARIETY)
    ana.fill("How many go in", str(count))
    if rest_stays:
        ana.tap("Not counted, or only some of them")
        ana.tap(ana.page.get_by_label("The rest stays where it is"))
        ana.tap("How and where it is stored (can wait)")
        ana.choose("Storage method", "Wood shavings")
        ana.tap("barely damp")
        ana.choose("Where", "Stone cellar")
    ana.shot(f"5-pack-{crate}", whole=True)
    ana.tap(f"Save: {count} tubers")
    ana.said(f"Saved on this phone: Crate {crate}: {count} tubers of {VARIETY}.")


def print_labels(ana):
    """The PDF that the queue makes."""
    ana.go("/labels")
    ana.shot("6-labels", whole=True)
    with ana.page.expect_download() as printed:
        ana.tap(re.compile("^Make PDF: "))
    ana.tap("Yes, clear queue")
    ana.said("Saved on this phone: 2 labels printed.")
    return printed.value.path().read_bytes()


def thrown_out(row):
    return {one["cause"]: one["count"] for one in row["thrown"]}


def test_from_the_fork_to_the_loss_report(ana, api, camera):
    dig_three_clumps(ana)
    divide_into_fourteen(ana)
    dry_off(ana)
    ana.go("/pack")
    pack(ana, "1", 8, rest_stays=True)
    pack(ana, "2", 6, rest_stays=False)
    pdf = print_labels(ana)
    ana.unsent(0)
    code = {crate["number"]: crate["code"] for crate in api.rows("crates")}

    ana.offline()
    camera.show_label(pdf, code["1"])
    ana.tap("Scan")
    expect(ana.drawer).to_contain_text("Crate 1")
    ana.went_through_all(rotten=2)
    ana.shot("7-check-offline")
    ana.tap("Save: 6 good, 2 rot")
    ana.said("Saved on this phone: Crate 1: 6 left, 2 rot.")
    ana.unsent(1)
    ana.shot("8-saved-offline")

    ana.reload()
    ana.unsent(1)
    ana.open_crate("2", "Stone cellar")
    ana.went_through_all(rotten=1)
    ana.shot("9-second-check")
    ana.tap("Save: 5 good, 1 rot")
    ana.said("Saved on this phone: Crate 2: 5 left, 1 rot.")
    ana.unsent(2)

    ana.online()
    ana.unsent(0)

    assert {"1": 6, "2": 5} == {
        crate["number"]: sum(lot["balance"] for lot in crate["lots"])
        for crate in api.rows("crates")
        if crate["number"] != "T1"
    }
    lots = api.rows("lots", unit="tuber")
    assert 11 == sum(lot["balance"] for lot in lots)
    assert 0 == sum(lot["balance"] for lot in api.rows("lots", unit="clump"))
    checks = api.rows("checks")
    assert [("all", 1), ("all", 2)] == sorted(
        (one["look"], line["removed"]["rot"]) for one in checks for line in one["lines"]
    )
    assert [] == api.rows("problems")

    report = api.get("/api/reports/losses/")
    [table] = report["tables"]
    everything = table["everything"]
    assert (14, 11, 0) == tuple(
        everything[name]["count"] for name in ("packed", "in_store", "missing")
    )
    assert {"rot": 3} == thrown_out(everything)
    ana.tap("Results")
    ana.sees(re.compile("^Packed 14 tubers in 2 crates. Threw out 3, not accounted for 0"))
    ana.shot("10-results", whole=True)
