"""Every label of every stock and kind, read back from the PDF; and wrong sheets, which must not pass."""

import re

import pypdfium2 as pdfium
import pytest
import zxingcpp

from tests.labels.made import expected, face, some_labels
from tests.labels.sheets import faults, grid_of
from tubertrack.apps.labels.label import LabelData
from tubertrack.apps.labels.layout import Placement
from tubertrack.apps.labels.pages import compose
from tubertrack.apps.labels.pdf import write_pdf
from tubertrack.apps.labels.render import render_labels
from tubertrack.apps.labels.stock import KINDS, LETTER_30, STOCKS, Kind, Stock
from tubertrack.apps.paper.fonts import Fonts

STOCKS_AND_KINDS = [(stock, kind) for stock in STOCKS.values() for kind in KINDS]


@pytest.mark.parametrize("dpi", [300, 150])
@pytest.mark.parametrize(
    ("stock", "kind"), STOCKS_AND_KINDS, ids=lambda one: getattr(one, "key", one)
)
def test_every_label_reads_back_where_it_stands(stock: Stock, kind: Kind, dpi: int) -> None:
    count = 5 if stock.is_roll else stock.labels_per_sheet + 2
    labels = some_labels(kind, count, host="farm.example")

    pdf = render_labels(labels, stock, fonts=face())

    assert [] == faults(pdf, grid_of(stock.key, kind), expected(labels, stock), dpi)


@pytest.mark.parametrize("stock", STOCKS.values(), ids=lambda stock: stock.key)
def test_labels_hold_with_the_computers_own_face_too(stock: Stock) -> None:
    labels = some_labels("crate", min(12, 6 * stock.labels_per_sheet))

    pdf = render_labels(labels, stock, fonts=Fonts())

    assert [] == faults(pdf, grid_of(stock.key, "crate"), expected(labels, stock), 150)


def test_the_first_label_goes_where_the_sheet_is_still_whole() -> None:
    labels = some_labels("lot", 31)

    pdf = render_labels(labels, LETTER_30, start_at=17, fonts=face())

    wanted = expected(labels, LETTER_30, start_at=17)
    assert {0, 1} == {one.page for one in wanted}
    assert [] == faults(pdf, grid_of("letter-30", "lot"), wanted, 150)


def test_three_hundred_codes_are_read_by_the_scanners_engine_as_well() -> None:
    labels = some_labels("crate", 300, host="farm.example", seed=11)

    document = pdfium.PdfDocument(render_labels(labels, LETTER_30, fonts=face()))

    read = []
    for page in document:
        found = zxingcpp.read_barcodes(page.render(scale=150 / 72, grayscale=True).to_numpy())
        read += [one.text for one in found]
    assert sorted(label.qr_text for label in labels) == sorted(read)


# ---- sheets that are wrong, made from a right one


def _pdf(labels: list[LabelData], change) -> bytes:  # type: ignore[no-untyped-def]
    pages = compose(labels, LETTER_30, Placement())
    drawings = [change(drawing) for drawing in pages.drawings]
    return write_pdf(pages.html, pages.css, Fonts(), drawings, "Labels")


def _found(pdf: bytes, labels: list[LabelData]) -> list[str]:
    return faults(pdf, grid_of("letter-30", "crate"), expected(labels, LETTER_30), 150)


def _mirror_symbols(drawing: bytes) -> bytes:
    """Each symbol mirrored in its own box."""

    def turn(match: re.Match[bytes]) -> bytes:
        module, x, y = (float(one) for one in match.groups())
        return f"q -{module} 0 0 {module} {x + 21 * module} {y} cm".encode()

    return re.sub(rb"q (\S+) 0 0 \S+ (\S+) (\S+) cm", turn, drawing)


def test_a_sheet_whose_codes_are_mirrored_fails_although_a_scanner_reads_it() -> None:
    labels = some_labels("crate", 30)
    pdf = _pdf(labels, _mirror_symbols)

    page = pdfium.PdfDocument(pdf)[0].render(scale=150 / 72, grayscale=True).to_numpy()
    assert 30 == len(zxingcpp.read_barcodes(page))  # the trap: this engine does not mind
    for position in range(1, 31):
        assert any(one.startswith(f"page 1, position {position}:") for one in _found(pdf, labels))


def test_a_sheet_drawn_under_the_text_layers_flipped_matrix_fails() -> None:
    labels = some_labels("crate", 30)

    pdf = _pdf(labels, lambda drawing: b"1 0 0 -1 0 792 cm\n" + drawing)

    found = _found(pdf, labels)
    for position in range(1, 31):
        assert any(one.startswith(f"page 1, position {position}:") for one in found)


def test_a_sheet_whose_codes_are_one_label_off_fails_for_each_of_them() -> None:
    labels = some_labels("crate", 30)
    pages = compose(labels, LETTER_30, Placement())
    others = compose(labels[1:] + labels[:1], LETTER_30, Placement())

    pdf = write_pdf(pages.html, pages.css, Fonts(), others.drawings, "Labels")

    assert 30 == sum("the QR code says" in one for one in _found(pdf, labels))


def test_a_sheet_whose_words_are_one_label_off_fails_for_each_of_them() -> None:
    labels = some_labels("crate", 30)
    pages = compose(labels[1:] + labels[:1], LETTER_30, Placement())
    drawings = compose(labels, LETTER_30, Placement()).drawings

    pdf = write_pdf(pages.html, pages.css, Fonts(), drawings, "Labels")

    assert 30 == sum("is not printed here" in one for one in _found(pdf, labels))


def test_ink_in_the_quiet_zone_and_outside_the_labels_is_found() -> None:
    labels = some_labels("crate", 1)
    # A dot 1.5 mm left of the symbol's ink, one in the sheet's margin.
    dots = b"\n0 0 1 rg 17.5 730 2 2 re f 100 780 4 4 re f"

    found = _found(_pdf(labels, lambda drawing: drawing + dots), labels)

    assert [
        "page 1, position 1: there is ink in the quiet zone",
        "page 1: ink outside the labels",
    ] == found
