"""Where ink lands: start, offset, pitch, counts of sheets, the calibration page."""

from typing import Any

import numpy as np
import pypdfium2 as pdfium
import pytest

from tests.labels.made import expected, face, some_labels
from tests.labels.sheets import GRIDS, Grid, faults
from tubertrack.apps.labels.calibration import render_calibration
from tubertrack.apps.labels.layout import BadPlacement, Placement, sheets_needed
from tubertrack.apps.labels.render import render_labels
from tubertrack.apps.labels.stock import (
    A4_21,
    KINDS,
    LETTER_10,
    LETTER_30,
    ROLL_62,
    STOCKS,
    Stock,
)

DPI = 300
PIXELS_PER_MM = DPI / 25.4


def _raster(pdf: bytes, page: int = 0) -> Any:
    return pdfium.PdfDocument(pdf)[page].render(scale=DPI / 72, grayscale=True).to_numpy().squeeze()


def _ink_box(raster: Any) -> Any:
    dark = raster < 128
    columns, rows = np.flatnonzero(dark.any(axis=0)), np.flatnonzero(dark.any(axis=1))
    return np.array([columns[0], rows[0], columns[-1], rows[-1]])


@pytest.mark.parametrize(("x_mm", "y_mm"), [(1.5, -2.0), (-0.7, 0.3), (0.1, 3.0)])
def test_offset_moves_all_ink_by_as_many_millimetres(x_mm: float, y_mm: float) -> None:
    labels = some_labels("crate", 12)
    still = _raster(render_labels(labels, A4_21, fonts=face()))
    moved = _raster(render_labels(labels, A4_21, offset_x_mm=x_mm, offset_y_mm=y_mm, fonts=face()))

    shift = _ink_box(moved) - _ink_box(still)

    wanted = np.array([x_mm, y_mm, x_mm, y_mm]) * PIXELS_PER_MM
    assert np.abs(shift - wanted).max() <= 1.0


def test_words_and_symbols_move_together() -> None:
    labels = some_labels("crate", 30)
    grid = GRIDS["letter-30"]
    moved = Grid(3, 10, grid.left + 1.2, grid.top - 0.8, 69.85, 25.4, grid.width, grid.height)

    pdf = render_labels(labels, LETTER_30, offset_x_mm=1.2, offset_y_mm=-0.8, fonts=face())

    assert [] == faults(pdf, moved, expected(labels, LETTER_30), 150)


def test_pitch_grows_along_the_sheet() -> None:
    labels = some_labels("crate", 30)
    grid = GRIDS["letter-30"]
    wider = Grid(3, 10, grid.left, grid.top, 69.85 + 0.4, 25.4 - 0.1, grid.width, grid.height)

    pdf = render_labels(labels, LETTER_30, pitch_x_mm=70.25, pitch_y_mm=25.3, fonts=face())

    assert [] == faults(pdf, wider, expected(labels, LETTER_30), 150)


def test_cut_marks_stay_in_the_margins() -> None:
    labels = some_labels("crate", 3)
    plain = _raster(render_labels(labels, A4_21, fonts=face()))
    marked = _raster(render_labels(labels, A4_21, cut_marks=True, fonts=face()))

    changed = np.argwhere(plain != marked) / PIXELS_PER_MM

    assert changed.size
    inside_x = (changed[:, 1] > 7.2) & (changed[:, 1] < 7.2 + 2 * 66 + 63.5)
    inside_y = (changed[:, 0] > 15.15) & (changed[:, 0] < 15.15 + 7 * 38.1)
    assert not (inside_x & inside_y).any()


@pytest.mark.parametrize(
    ("count", "stock", "start_at", "sheets"),
    [
        (0, LETTER_30, 1, 0),
        (1, LETTER_30, 30, 1),
        (2, LETTER_30, 30, 2),
        (26, LETTER_30, 1, 1),
        (30, LETTER_30, 1, 1),
        (31, LETTER_30, 1, 2),
        (21, A4_21, 2, 2),
        (10, LETTER_10, 1, 1),
        (5, ROLL_62, 1, 5),
    ],
)
def test_sheets_needed(count: int, stock: Stock, start_at: int, sheets: int) -> None:
    assert sheets == sheets_needed(count, stock, start_at)
    if count:
        made = render_labels(some_labels("lot", count), stock, start_at=start_at, fonts=face())
        assert sheets == len(pdfium.PdfDocument(made))


@pytest.mark.parametrize(("stock", "start_at"), [(LETTER_30, 0), (LETTER_30, 31), (ROLL_62, 2)])
def test_a_start_that_is_not_on_the_sheet_is_refused(stock: Stock, start_at: int) -> None:
    with pytest.raises(BadPlacement, match=f"cannot start at {start_at}: "):
        render_labels(some_labels("lot", 1), stock, start_at=start_at)


@pytest.mark.parametrize("stock", STOCKS.values(), ids=lambda stock: stock.key)
def test_pages_have_the_exact_size_and_ask_not_to_be_scaled(stock: Stock) -> None:
    for kind in KINDS:
        pdf = render_labels(some_labels(kind, 2), stock, fonts=face())
        document = pdfium.PdfDocument(pdf)
        page = document[0]
        height_mm = {"letter-30": 279.4, "letter-10": 279.4, "a4-21": 297.0}.get(stock.key)
        height_mm = height_mm or {"crate": 84.0, "lot": 34.0, "blank": 84.0}[kind]
        width_mm = {"a4-21": 210.0, "roll-62": 62.0}.get(stock.key, 215.9)
        assert (width_mm, height_mm) == pytest.approx(
            (page.get_width() / 72 * 25.4, page.get_height() / 72 * 25.4), abs=0.02
        )
        # PDFium reads /PrintScaling; 0 is /None, 1 is what a document without it has.
        assert 0 == pdfium.raw.FPDF_VIEWERREF_GetPrintScaling(document)


@pytest.mark.parametrize("stock", STOCKS.values(), ids=lambda stock: stock.key)
def test_labels_stand_on_the_page_and_apart(stock: Stock) -> None:
    right = stock.left_mm + (stock.columns - 1) * stock.pitch_x_mm + stock.label_width_mm
    bottom = stock.top_mm + (stock.rows - 1) * stock.pitch_y_mm + stock.label_height_mm

    assert right <= stock.page_width_mm + 1e-9
    assert bottom <= stock.page_height_mm + 1e-9
    assert stock.pitch_x_mm >= stock.label_width_mm - 1e-9
    assert stock.pitch_y_mm >= stock.label_height_mm - 1e-9
    # Both margins alike, as on the sheets that are sold: within a millimetre.
    assert stock.left_mm == pytest.approx(stock.page_width_mm - right, abs=1.0)
    assert stock.top_mm == pytest.approx(stock.page_height_mm - bottom, abs=1.0)


def test_the_bar_of_the_calibration_page_is_a_hundred_millimetres() -> None:
    raster = _raster(render_calibration(LETTER_30, Placement(), face()))
    grid = GRIDS["letter-30"]
    middle_px = round((grid.top + 5.5 * grid.pitch_y) * PIXELS_PER_MM)

    rows = raster[middle_px - 6 : middle_px + 7] < 128
    bar = max(rows, key=lambda row: int(row.sum()))
    columns = np.flatnonzero(bar)

    assert 100.0 == pytest.approx((columns[-1] - columns[0]) / PIXELS_PER_MM, abs=0.25)
    assert columns.size == pytest.approx(columns[-1] - columns[0], abs=2)  # one unbroken line


def test_the_calibration_page_shows_the_corrections_it_is_asked_for() -> None:
    still = _ink_box(_raster(render_calibration(LETTER_10, Placement(), face())))
    moved = _ink_box(
        _raster(render_calibration(LETTER_10, Placement(offset_x_mm=2.0, offset_y_mm=1.0), face()))
    )

    shift_mm = (moved - still) / PIXELS_PER_MM
    assert [2.0, 1.0, 2.0, 1.0] == pytest.approx(list(shift_mm), abs=0.1)
    for stock in STOCKS.values():
        assert 1 == len(pdfium.PdfDocument(render_calibration(stock, Placement(), face())))
