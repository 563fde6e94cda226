"""The loss report by its addresses, on the real database: every number worked out by hand."""

import csv
import ctypes
import io
import sys

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.farms import crate_id
from tests.reports.winters import (
    BELL,
    CELLAR,
    SHAVINGS,
    WRAP,
    a_winter,
    gone_through,
    name,
    packed,
    write,
)
from tubertrack.apps.records.models import Record
from tubertrack.apps.reports.serializers import LossReportSerializer
from tubertrack.core.losses.crate_wilson import CrateCount, crate_wilson

pytestmark = pytest.mark.django_db
JSON, CSV, PDF = "/api/reports/losses/", "/api/reports/losses.csv", "/api/reports/losses.pdf"


@pytest.fixture
def winter(farms):
    a_winter(farms)
    return farms


def report(farms, **params):
    answer = farms.viewer.client.get(JSON, params)
    assert answer.status_code == 200, answer.content
    return answer.json()


def row(told, label, unit="tuber"):
    table = next(table for table in told["tables"] if table["unit"] == unit)
    return next(row for row in table["rows"] if row["key"]["label"] == label)


def counts(found):
    names = ("packed", "found", "missing", "brought_out", "in_store")
    more = ("thrown_out", "went_out", "moved_in", "moved_out", "about", "outside")
    return {n: found[n]["count"] for n in names} | {n: found[n] for n in more}


def test_a_storage_method_in_numbers(winter):
    found = row(report(winter), "Shavings")
    expected = crate_wilson([CrateCount(17, 19), CrateCount(21, 30)])
    assert counts(found) == {
        "packed": 50,
        "found": 0,
        "missing": 1,
        "brought_out": 0,
        "in_store": 38,
        "thrown_out": 11,
        "went_out": 0,
        "moved_in": 0,
        "moved_out": 0,
        "about": 0,
        "outside": 0,
    }
    assert {"dried_up": 6, "frozen": 3, "rot": 2} == {
        line["cause"]: line["count"] for line in found["thrown"]
    }
    through = found["came_through"]
    assert (through["method"], through["crates"], through["tubers"]) == ("crate_wilson", 2, 49)
    assert round(38 / 49, 4) == through["share"]
    assert (round(expected.low, 4), round(expected.high, 4)) == (through["low"], through["high"])
    assert round(38 / 50, 4) == found["worst_case"]
    assert {"seen": 49, "seen_from": "2026-12-02", "seen_to": "2026-12-20"}.items() <= found[
        "seen"
    ].items()


def test_as_soon_as_some_were_sold_it_is_followed_day_by_day(winter):
    found = row(report(winter), "Wrap")
    assert (30, 5, 25, 10) == (
        found["packed"]["count"],
        found["went_out"],
        found["in_store"]["count"],
        found["about"],
    )
    assert "early_leavers" == found["came_through"]["method"]
    # 15 of the 20 were gone through on 1 December, 5 seen sound when they were sold on the 10th
    assert (1.0, 20, "2026-12-10") == tuple(
        found["came_through"][n] for n in ("share", "tubers", "through_on")
    )
    assert (10, "2026-11-03") == (found["seen"]["not_seen"], found["seen"]["not_seen_since"])
    assert "One crate: says almost nothing; spread assumed." == found["guess"]


def test_grouped_by_variety_place_packing_and_moisture(winter):
    assert (40, 2) == (
        row(report(winter, by="variety"), "Brackwater Bell")["packed"]["count"],
        row(report(winter, by="variety"), "Brackwater Bell")["thrown_out"],
    )
    assert 9 == row(report(winter, by="place"), "Garage")["thrown_out"]
    assert 50 == row(report(winter, by="packing"), "wood shavings")["packed"]["count"]
    assert 30 == row(report(winter, by="packing"), "packing not written down")["packed"]["count"]
    assert 80 == row(report(winter, by="moisture"), "moisture not written down")["packed"]["count"]


def test_clumps_stand_in_a_table_of_their_own(winter):
    told = report(winter)
    assert ["tuber", "clump"] == [table["unit"] for table in told["tables"]]
    found = row(told, "Shavings", "clump")
    assert (6, None) == (found["packed"]["count"], found["came_through"])
    assert "No counts yet: nobody has gone through these 6 clumps since packing." == found["guess"]


def test_it_opens_with_whether_it_adds_up_and_how_hard_we_looked(winter):
    told = report(winter)
    packed_tubers, packed_clumps, looked = (line["text"] for line in told["opening"][:3])
    assert packed_tubers == (
        "Packed 80 tubers in 4 crates. Threw out 11, sold 5, not accounted for 1, still in store 63."
        " 10 of them packed by guess (~)."
    )
    assert packed_clumps == (
        "Packed 6 clumps in 1 crate. Threw out 0, not accounted for 0, still in store 6."
    )
    assert looked == (
        "Gone through: 3 of 4 crates, not looked at since packing 1."
        " 10 tubers not gone through since 3 Nov."
    )
    assert [
        "Crate 3: 9 of 30 tubers (dried up 6, frozen 3)",
        "Crate 1: 2 of 20 tubers (rot 2)",
    ] == [crate["text"] for crate in told["worst"]]


def test_every_number_opens_its_crates_and_entries(winter):
    told = report(winter)
    rot = next(line for line in row(told, "Shavings")["thrown"] if line["cause"] == "rot")
    checks = Record.objects.filter(farm=winter.farm, kind="checked", occurred_on="2026-12-01")
    check = next(one for one in checks if b'"rot"' in bytes(one.raw))
    assert ([crate_id(1)], [check.sha256]) == (rot["crates"], rot["records"])
    hashes = set(Record.objects.filter(farm=winter.farm).values_list("sha256", flat=True))
    for table in told["tables"]:
        for found in (table["everything"], *table["rows"]):
            parts = [found[n] for n in ("packed", "found", "missing", "brought_out", "in_store")]
            for part in (*parts, *found["thrown"], *found["gone_out"]):
                assert set(part["records"]) <= hashes
                assert set(part["crates"]) <= set(told["crates"])
                assert bool(part["count"]) == bool(part["crates"])
    assert {str(n) for n in range(1, 6)} == set(told["crates"].values())


def test_the_answer_has_the_shape_it_is_documented_with(winter):
    told = report(winter)
    assert told == LossReportSerializer(told).data


def test_it_says_as_of_when_and_up_to_which_entry(winter):
    told = report(winter)
    assert ("2026/27", "2027-01-20", winter.farm.last_seq) == (
        told["winter"],
        told["as_of"],
        told["seq"],
    )
    assert (["2026/27"], True, "method") == (told["winters"], told["under_way"], told["by"])


def test_a_voided_check_leaves_the_report(winter):
    check = Record.objects.filter(farm=winter.farm, kind="checked", occurred_on="2026-12-02").get()
    write(winter.owner, ("record_voided", {"target": check.sha256, "why": "twice"}, "2027-01-20"))
    found = row(report(winter), "Shavings")
    assert (2, 47) == (found["thrown_out"], found["in_store"]["count"])


def test_two_rows_said_to_be_one_are_one_in_the_report(winter):
    body = {"table": "methods", "row": WRAP, "into": SHAVINGS}
    write(winter.owner, ("same_as", body, "2027-01-20"))
    assert 80 == row(report(winter), "Shavings")["packed"]["count"]


def test_another_farms_crates_with_the_same_ids_are_not_in_it(winter):
    theirs = winter.cleo.client.get(JSON).json()
    assert 99 == row(theirs, "Shavings")["packed"]["count"]
    assert 50 == row(report(winter), "Shavings")["packed"]["count"]


def test_a_farm_with_nothing_packed_gets_a_sentence(farms):
    told = report(farms)
    assert ([], []) == (told["tables"], told["winters"])
    assert told["opening"][0]["text"].startswith("Nothing was packed in the winter ")
    assert 200 == farms.viewer.client.get(CSV).status_code


@pytest.mark.parametrize("address", [JSON, CSV, PDF])
def test_without_a_token_there_is_no_report(client, address, db):
    assert 401 == client.get(address).status_code


@pytest.mark.parametrize(
    ("params", "sentence"),
    [
        ({"winter": "2026-27"}, "“2026-27” is not a winter. Write it like 2026/27."),
        (
            {"by": "weather"},
            "A report goes by method, variety, place, packing, moisture, not by “weather”.",
        ),
    ],
)
@pytest.mark.parametrize("address", [JSON, CSV, PDF])
def test_what_cannot_be_asked_gets_a_sentence(farms, address, params, sentence):
    answer = farms.viewer.client.get(address, params)
    field = next(iter(params))
    assert (400, {field: [sentence]}) == (answer.status_code, answer.json()["fields"])
    assert answer.json()["message"].endswith(sentence)


def test_the_number_of_queries_does_not_grow(winter):
    def queries():
        with CaptureQueriesContext(
            connection,
        ) as caught:
            report(winter)
        return len(caught)

    few = queries()
    write(
        winter.owner,
        *(packed(n, 20, BELL, SHAVINGS, CELLAR) for n in range(10, 40)),
        *(gone_through(n, 20, "2026-12-01", rot=1) for n in range(10, 40)),
    )
    assert few == queries()


# CSV


def table_of(farms, **params):
    answer = farms.viewer.client.get(CSV, params, headers={"accept": "text/csv"})
    assert "text/csv; charset=utf-8" == answer["Content-Type"]
    assert not answer.content.startswith(b"\xef\xbb\xbf")
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8"), newline="")))


def test_csv_has_the_numbers_of_the_screen(winter):
    told, table = report(winter), table_of(winter)
    for found in told["tables"][0]["rows"]:
        line = next(one for one in table if one["method"] == found["key"]["label"])
        through = found["came_through"]
        assert line["packed (count)"] == str(found["packed"]["count"])
        assert line["thrown out (count)"] == str(found["thrown_out"])
        assert line["not accounted for (count)"] == str(found["missing"]["count"])
        assert line["still in store (count)"] == str(found["in_store"]["count"])
        assert [line[f"{n} (share 0 to 1)"] for n in ("came through", "from", "to")] == [
            str(through[n]) for n in ("share", "low", "high")
        ]
        assert line["crates in the share (count)"] == str(through["crates"])
        assert line["seen (count)"] == str(found["seen"]["seen"])
        assert line["not seen (count)"] == str(found["seen"]["not_seen"])
        assert line["not seen since (date)"] == (found["seen"]["not_seen_since"] or "")
        assert line["caution"] == found["guess"]


def test_csv_balances_in_every_line(winter):
    for line in table_of(winter, by="variety"):
        n = {key: int(value) for key, value in line.items() if key.endswith("(count)") and value}
        came = n["packed (count)"] + n["found (count)"] + n["taken over (count)"]
        out = n["thrown out (count)"] + n["gone out (count)"] + n["not accounted for (count)"]
        left = (
            n["taken elsewhere (count)"]
            + n["brought out good (count)"]
            + n["still in store (count)"]
        )
        assert came == out + left
        assert n["thrown out (count)"] == sum(
            v for k, v in n.items() if k.startswith("thrown out: ")
        )


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t"])
def test_a_name_that_looks_like_a_formula_stays_text(winter, start):
    write(winter.owner, name("methods", WRAP, f"{start}1+1"))
    assert f"'{start}1+1" in [line["method"] for line in table_of(winter)]


def test_csv_is_a_file_with_a_name(winter):
    disposition = winter.viewer.client.get(CSV, {"by": "place"})["Content-Disposition"]
    assert 'attachment; filename="losses-2026-27-by-place.csv"' == disposition


# PDF


def pdf_text(farms, **params):
    import pypdfium2

    answer = farms.viewer.client.get(PDF, params, headers={"accept": "application/pdf"})
    assert (200, "application/pdf") == (answer.status_code, answer["Content-Type"])
    document = pypdfium2.PdfDocument(answer.content)
    pages = [page.get_textpage().get_text_bounded() for page in document]
    return [" ".join(page.replace("\u00a0", " ").split()) for page in pages]


def test_pdf_has_the_numbers_of_the_screen(winter):
    told, text = report(winter), " ".join(pdf_text(winter))
    for line in (*told["opening"], *told["verdict"]):
        assert line["text"] in text
    assert "Shavings" in text
    assert "78 %" in text
    assert "49 in 2 crates" in text


def test_statistics_words_stay_off_the_first_page(winter):
    first = pdf_text(winter)[0].lower()
    assert "packed 80 tubers" in first
    for word in ("wilson", "interval", "variance", "correlation", "icc", "p-value", "effective"):
        assert word not in first


def test_pdf_is_tagged_and_names_its_language(winter):
    import pypdfium2

    document = pypdfium2.PdfDocument(winter.viewer.client.get(PDF).content)
    assert document.is_tagged()
    language = (ctypes.c_ushort * 8)()
    length = pypdfium2.raw.FPDFCatalog_GetLanguage(document, language, 16)
    assert "en\0" == bytes(language)[:length].decode("utf-16-le")


def test_a_name_with_markup_is_printed_as_it_is(winter):
    write(winter.owner, name("methods", WRAP, "<b>Wrap</b> & film"))
    assert "<b>Wrap</b> & film" in " ".join(pdf_text(winter))


def test_without_the_library_the_button_says_what_to_install(winter, monkeypatch):
    for module in [one for one in sys.modules if one.split(".")[0] == "weasyprint"]:
        monkeypatch.delitem(sys.modules, module)
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    answer = winter.viewer.client.get(PDF)
    assert (503, "pdf_unavailable") == (answer.status_code, answer.json()["code"])
    assert "install it" in answer.json()["message"]
    assert 200 == winter.viewer.client.get(CSV).status_code
