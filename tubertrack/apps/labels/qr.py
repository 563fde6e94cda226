"""QR symbols as black rectangles.

ISO/IEC 18004, error correction level Q, alphanumeric mode. The mask is fixed: every mask is valid,
and choosing one is most of the time that making a symbol takes.
"""

import re
from dataclasses import dataclass

QUIET_MODULES = 4
"""Width of the white margin that ISO/IEC 18004 asks for, in modules."""
_MASK = 2
_ALPHANUMERIC = re.compile(r"[0-9A-Z $%*+./:-]+")


@dataclass(frozen=True)
class Rectangle:
    """Black modules: columns x to x + width, rows y to y + height, from the symbol's top left."""

    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True)
class Symbol:
    """A symbol of `modules` x `modules`, without its quiet zone."""

    modules: int
    rectangles: tuple[Rectangle, ...]

    def module_mm(self, box_mm: float, dots_per_inch: int = 0) -> float:
        """Side of a module when symbol and quiet zone fill the box.

        With dots_per_inch it is the nearest whole number of dots, so that a thermal printer draws
        every module alike; the box is then up to 3 % larger or smaller.
        """
        module = box_mm / (self.modules + 2 * QUIET_MODULES)
        if not dots_per_inch:
            return module
        dot = 25.4 / dots_per_inch
        return max(1, round(module / dot)) * dot


def qr_symbol(text: str) -> Symbol:
    """The symbol that holds `text`.

    Errors: ValueError when `text` is empty or has characters outside QR's alphanumeric mode.
    """
    if not _ALPHANUMERIC.fullmatch(text):
        message = f"{text!r} cannot be printed: a label's QR code holds capitals, digits and $%*+-./: only"
        raise ValueError(message)
    from qrcode.constants import ERROR_CORRECT_Q
    from qrcode.main import QRCode
    from qrcode.util import MODE_ALPHA_NUM, QRData

    code = QRCode(error_correction=ERROR_CORRECT_Q, mask_pattern=_MASK, border=0)
    code.add_data(QRData(text.encode("ascii"), mode=MODE_ALPHA_NUM), optimize=0)
    code.make(fit=True)
    rows = [[bool(module) for module in row] for row in code.modules]
    return Symbol(len(rows), _rectangles(rows))


def _rectangles(rows: list[list[bool]]) -> tuple[Rectangle, ...]:
    """Runs of black modules, a run that repeats in the rows below it drawn as one rectangle."""
    done: list[Rectangle] = []
    open_runs: dict[tuple[int, int], int] = {}
    for y, row in enumerate([*rows, [False] * len(rows)]):
        runs = _runs(row)
        for (x, width), top in list(open_runs.items()):
            if (x, width) not in runs:
                done.append(Rectangle(x, top, width, y - top))
                del open_runs[x, width]
        for run in runs:
            open_runs.setdefault(run, y)
    return tuple(done)


def _runs(row: list[bool]) -> set[tuple[int, int]]:
    runs: set[tuple[int, int]] = set()
    start = -1
    for x, black in enumerate([*row, False]):
        if black and start < 0:
            start = x
        elif not black and start >= 0:
            runs.add((start, x - start))
            start = -1
    return runs
