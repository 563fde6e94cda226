"""Reads label sheets back from their PDF, as a stranger would: raster, reader, printed words.

Nothing here uses the code that made the sheet. The sizes are written out once more, in millimetres,
the reader is OpenCV's (another engine than the app's scanner), the modules are compared with
segno's, and the printed words come from the PDF by place.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import pypdfium2 as pdfium
import segno

QUIET_MODULES = 4  # ISO/IEC 18004
PAPER = 250  # grey from which a pixel counts as white


@dataclass(frozen=True)
class Grid:
    """A stock's geometry in millimetres."""

    columns: int
    rows: int
    left: float
    top: float
    pitch_x: float
    pitch_y: float
    width: float
    height: float

    def cell(self, position: int) -> tuple[float, float]:
        row, column = divmod(position, self.columns)
        return self.left + column * self.pitch_x, self.top + row * self.pitch_y


# Common practice, from the dimensions on the packages (inches times 25.4); no standard.
GRIDS = {
    "letter-30": Grid(3, 10, 4.7625, 12.7, 69.85, 25.4, 66.675, 25.4),
    "letter-10": Grid(2, 5, 3.96875, 12.7, 106.3625, 50.8, 101.6, 50.8),
    "a4-21": Grid(3, 7, 7.2, 15.15, 66.0, 38.1, 63.5, 38.1),
}
ROLL_HEIGHTS = {"crate": 84.0, "lot": 34.0, "blank": 84.0}


def grid_of(stock: str, kind: str) -> Grid:
    return GRIDS.get(stock) or Grid(1, 1, 0, 0, 0, 0, 62.0, ROLL_HEIGHTS[kind])


@dataclass(frozen=True)
class Expected:
    """What has to stand in a cell."""

    page: int
    position: int
    code: str  # as printed: 4K7Q-M2X1
    qr_text: str
    box_mm: float


def faults(pdf: bytes, grid: Grid, expected: Sequence[Expected], dpi: int) -> list[str]:
    """Everything that is wrong with the sheets; an empty list when each label is as it should be."""
    document = pdfium.PdfDocument(pdf)
    found: list[str] = []
    for number in range(len(document)):
        here = [one for one in expected if one.page == number]
        page = document[number]
        raster = page.render(scale=dpi / 72, grayscale=True).to_numpy().squeeze()
        words = page.get_textpage()
        for one in here:
            place = f"page {number + 1}, position {one.position + 1}"
            found += [f"{place}: {fault}" for fault in _label_faults(raster, grid, one, dpi)]
            found += [f"{place}: {fault}" for fault in _word_faults(page, words, grid, one)]
        if not here:
            found.append(f"page {number + 1} is empty")
        if not _only_in_cells(raster, grid, here, dpi):
            found.append(f"page {number + 1}: ink outside the labels")
    missing = {one.page for one in expected} - set(range(len(document)))
    return found + [f"page {number + 1} is missing" for number in sorted(missing)]


def _label_faults(raster: Any, grid: Grid, one: Expected, dpi: int) -> list[str]:
    left, top = grid.cell(one.position)
    label = _part(raster, left, top, grid.width, grid.height, dpi)
    text, corners = _read(label)
    if not text:
        return ["no QR code is read"]
    found = [] if text == one.qr_text else [f"the QR code says {text}, not {one.qr_text}"]
    if corners is None:
        return [*found, "the QR code has no place"]
    x, y = corners[:, 0], corners[:, 1]
    if not (x[0] < x[1] and y[0] < y[3] and abs(y[0] - y[1]) < 3 and abs(x[0] - x[3]) < 3):
        found.append("the QR code is not upright")
    box = _symbol_box(label, corners)
    matrices = _matrices_of(one.qr_text)
    modules = len(matrices[0])
    seen = _modules(label, box, modules)
    if not any(np.array_equal(seen, matrix) for matrix in matrices):
        mirrored = any(np.array_equal(seen[:, ::-1], matrix) for matrix in matrices)
        turned = any(np.array_equal(seen[::-1], matrix) for matrix in matrices)
        is_mirrored = mirrored or turned
        found.append("the QR code is mirrored" if is_mirrored else "the modules are not the code's")
    found += _quiet_zone_faults(label, box, modules)
    module_mm = (box[2] - box[0]) / modules * 25.4 / dpi
    box_mm = module_mm * (modules + 2 * QUIET_MODULES)
    if abs(box_mm - one.box_mm) > 0.03 * one.box_mm:  # whole dots of a printer, or of this raster
        found.append(f"the QR code's box is {box_mm:.1f} mm, not {one.box_mm}")
    return found


def _read(label: Any) -> tuple[str, Any]:
    """Text and corners (from the symbol's own top left, clockwise) by OpenCV's reader."""
    for zoom in (1, 2, 3):
        bigger = cv2.resize(label, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_CUBIC)
        text, corners, _ = cv2.QRCodeDetector().detectAndDecode(bigger)
        if text:
            return text, corners.reshape(4, 2) / zoom
    return "", None


def _symbol_box(label: Any, corners: Any) -> tuple[int, int, int, int]:
    """Pixel box of the symbol: its corners, moved to the outermost ink near them."""
    x0, y0 = np.floor(corners.min(axis=0)).astype(int) - 3
    x1, y1 = np.ceil(corners.max(axis=0)).astype(int) + 4
    x0, y0 = max(x0, 0), max(y0, 0)
    dark = label[y0:y1, x0:x1] < 128
    columns, rows = np.flatnonzero(dark.any(axis=0)), np.flatnonzero(dark.any(axis=1))
    return x0 + columns[0], y0 + rows[0], x0 + columns[-1] + 1, y0 + rows[-1] + 1


def _modules(label: Any, box: tuple[int, int, int, int], modules: int) -> Any:
    x0, y0, x1, y1 = box
    centres = (np.arange(modules) + 0.5) / modules
    xs = (x0 + centres * (x1 - x0)).astype(int)
    ys = (y0 + centres * (y1 - y0)).astype(int)
    return label[np.ix_(ys, xs)] < 128


def _matrices_of(text: str) -> list[Any]:
    """The symbol with each of the eight masks, by segno."""
    return [
        np.array(segno.make(text, error="q", mask=mask, boost_error=False, micro=False).matrix) > 0
        for mask in range(8)
    ]


def _quiet_zone_faults(label: Any, box: tuple[int, int, int, int], modules: int) -> list[str]:
    x0, y0, x1, y1 = box
    margin = QUIET_MODULES * (x1 - x0) / modules
    reach = int(margin - 0.5)
    if min(x0, y0, label.shape[1] - x1, label.shape[0] - y1) < reach:
        return ["the quiet zone does not fit in the label"]
    around = label[y0 - reach : y1 + reach, x0 - reach : x1 + reach].copy()
    # One pixel round the symbol may be grey where a module ends between two pixels.
    around[reach - 1 : reach + y1 - y0 + 1, reach - 1 : reach + x1 - x0 + 1] = 255
    return [] if around.min() >= PAPER else ["there is ink in the quiet zone"]


def _word_faults(page: Any, words: Any, grid: Grid, one: Expected) -> list[str]:
    left, top = grid.cell(one.position)
    height = page.get_height()
    text = words.get_text_bounded(
        left=_points(left),
        right=_points(left + grid.width),
        top=height - _points(top),
        bottom=height - _points(top + grid.height),
    )
    return [] if one.code in text else [f"{one.code} is not printed here, but {text!r}"]


def _only_in_cells(raster: Any, grid: Grid, here: Sequence[Expected], dpi: int) -> bool:
    outside = raster.copy()
    for one in here:
        left, top = grid.cell(one.position)
        _part(outside, left, top, grid.width, grid.height, dpi)[:] = 255
    return bool(outside.min() >= PAPER)


def _part(raster: Any, left: float, top: float, width: float, height: float, dpi: int) -> Any:
    x0, y0 = round(left * dpi / 25.4), round(top * dpi / 25.4)
    x1, y1 = round((left + width) * dpi / 25.4), round((top + height) * dpi / 25.4)
    return raster[y0:y1, x0:x1]


def _points(millimetres: float) -> float:
    return millimetres * 72 / 25.4
