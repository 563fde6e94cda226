"""The benchmark compares like with like, and says whether a target holds. No seconds here."""

import json
from io import StringIO

import pypdfium2 as pdfium
import pytest
import zxingcpp
from django.core.management import CommandError, call_command

from tests.labels.made import face, some_labels
from tubertrack.apps.labels import bench
from tubertrack.apps.labels.render import render_labels
from tubertrack.apps.labels.stock import LETTER_30
from tubertrack.apps.records.management.commands import benchmark


def _symbols_and_words(pdf: bytes) -> list[tuple[str, bool]]:
    found = []
    for page in pdfium.PdfDocument(pdf):
        raster = page.render(scale=150 / 72, grayscale=True).to_numpy()
        text = page.get_textpage().get_text_bounded()
        for one in zxingcpp.read_barcodes(raster):
            code = one.text[-8:]
            found.append((one.text, f"{code[:4]}-{code[4:]}" in text))
    return sorted(found)


def test_both_ways_print_the_same_codes_and_words() -> None:
    labels = some_labels("crate", 33, host="farm.example")

    obvious = _symbols_and_words(bench._flex_and_svg(labels, face()))

    assert sorted((label.qr_text, True) for label in labels) == obvious
    assert obvious == _symbols_and_words(render_labels(labels, LETTER_30, fonts=face()))


def test_the_command_lists_what_there_is_and_refuses_the_rest() -> None:
    said = StringIO()
    call_command("benchmark", stdout=said)
    assert "labels" in said.getvalue()
    with pytest.raises(CommandError, match="no benchmark “flying”"):
        call_command("benchmark", "flying")


@pytest.mark.parametrize(("ratio", "holds"), [(3.9, False), (4.0, True), (9.0, True)])
def test_the_last_line_is_one_json_object_that_says_whether_it_holds(
    monkeypatch: pytest.MonkeyPatch, ratio: float, holds: bool
) -> None:
    measured = {
        "figures": {"seconds": 1.5},
        "ratios": {"faster": ratio},
        "targets": {"faster": {"at_least": 4.0}, "seconds": {"at_most": 2.0}},
    }
    monkeypatch.setitem(bench.BENCHES, "labels", lambda _: measured)
    said = StringIO()

    call_command("benchmark", "labels", "--json", stdout=said)

    last = json.loads(said.getvalue().splitlines()[-1])
    assert {"bench": "labels", **measured, "holds": holds} == last
    assert holds == benchmark._holds(measured)
