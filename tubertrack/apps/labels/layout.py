"""Where things stand on a label and on a sheet. Pure geometry, millimetres from the top left."""

from collections.abc import Iterator
from dataclasses import dataclass

from tubertrack.apps.labels.stock import FULL_QR_BOX_MM, Kind, Stock
from tubertrack.core.codes import CODE_LENGTH

POINTS_PER_MM = 72 / 25.4
CODE_SIZES_PT = (30.0, 26.0, 22.0, 20.0, 18.0, 16.0, 15.0, 14.0)
CODE_LEADING = 1.15
_MONO_EM = 0.65
_CODE_EM = (CODE_LENGTH + 1) * _MONO_EM


@dataclass(frozen=True)
class Box:
    """A rectangle on a label."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True)
class Form:
    """What stands where on one kind of label of one stock."""

    label: Box
    qr: Box
    text: Box
    """Code, variety and the lines below it; its lower edge is the first pencil line's room."""
    number: Box | None
    """A box of its own for the crate's number; None: it is a line of the text."""
    code_pt: float
    pencil_y_mm: float
    pencil_x_mm: float
    pencil_width_mm: float

    @property
    def captions_number(self) -> bool:
        """Whether the number's box has room for a caption above the figures."""
        return self.number is not None and self.number.height_mm > 8

    @property
    def blank_step_mm(self) -> float:
        """Distance between the three lines of a label that is filled in by hand."""
        top = self.text.y_mm + self.code_pt * CODE_LEADING / POINTS_PER_MM
        return min(11.0, (self.pencil_y_mm - top) / 3)


@dataclass(frozen=True)
class BlankLine:
    """A line to write on, with the word before it."""

    caption: str
    x_mm: float
    y_mm: float
    width_mm: float


@dataclass(frozen=True)
class Placement:
    """Where the labels of a job go: first position, and what a printer's paper path asks for.

    start_at counts positions of the first sheet from 1, along the rows.
    """

    start_at: int = 1
    offset_x_mm: float = 0.0
    offset_y_mm: float = 0.0
    pitch_x_mm: float | None = None
    pitch_y_mm: float | None = None


@dataclass(frozen=True)
class Cell:
    """One label's place: page from 0, position on the page from 0, top left corner."""

    page: int
    position: int
    x_mm: float
    y_mm: float


class BadPlacement(ValueError):
    """The labels cannot be placed like this; the message says what to change."""


def sheets_needed(count: int, stock: Stock, start_at: int = 1) -> int:
    """Sheets (on a roll: labels) that `count` labels take when the first goes to `start_at`."""
    _check_start(stock, start_at)
    if count <= 0:
        return 0
    return -(-(count + start_at - 1) // stock.labels_per_sheet)


def cell_origin(stock: Stock, position: int, placement: Placement) -> tuple[float, float]:
    """Top left corner of a position on the page, with the printer's corrections."""
    row, column = divmod(position, stock.columns)
    pitch_x_mm = stock.pitch_x_mm if placement.pitch_x_mm is None else placement.pitch_x_mm
    pitch_y_mm = stock.pitch_y_mm if placement.pitch_y_mm is None else placement.pitch_y_mm
    return (
        stock.left_mm + column * pitch_x_mm + placement.offset_x_mm,
        stock.top_mm + row * pitch_y_mm + placement.offset_y_mm,
    )


def cells(count: int, stock: Stock, placement: Placement) -> Iterator[Cell]:
    """The places of `count` labels, in reading order."""
    _check_start(stock, placement.start_at)
    for index in range(placement.start_at - 1, placement.start_at - 1 + count):
        page, position = divmod(index, stock.labels_per_sheet)
        yield Cell(page, position, *cell_origin(stock, position, placement))


def form_for(stock: Stock, kind: Kind) -> Form:
    """The arrangement that uses this size best.

    Upright labels have the symbol above the text, others beside it. The quiet zone is part of the
    symbol's box, so the box may come closer to the edge than text may.
    """
    width, height = stock.label_width_mm, stock.height_mm(kind)
    qr_side = stock.qr_box_mm(kind)
    return _upright(width, height, qr_side) if height > width else _beside(width, height, qr_side)


def blank_lines(form: Form) -> tuple[BlankLine, ...]:
    """The lines of a label that is filled in by hand; the longest is the variety's."""
    ys = [form.pencil_y_mm - form.blank_step_mm * above for above in (2, 1, 0)]
    short = (form.text.x_mm, form.text.width_mm)
    last = (form.pencil_x_mm, form.pencil_width_mm)
    names = ["Variety", "How many", "Packed on"]
    if last[1] > short[1]:
        names = [*names[1:], names[0]]
    lines = [
        BlankLine(name, x, y, width)
        for name, y, (x, width) in zip(names, ys, (short, short, last), strict=True)
    ]
    if form.number and form.captions_number:
        box = form.number
        y = min(form.pencil_y_mm, box.y_mm + box.height_mm)
        lines.append(BlankLine("Crate", box.x_mm, y, box.width_mm))
    return tuple(lines)


def _beside(width: float, height: float, side: float) -> Form:
    roomy = height >= 45 and height >= side + 16  # the number fits below the symbol, in large type
    edge = 1.6 if roomy else min(0.8, (height - side) / 2)
    spare = height - side
    qr = Box(edge, edge if spare > 6 else spare / 2, side, side)
    margin = 3.0 if roomy else 2.0
    left = edge + side + (0.8 if roomy else 0.3)
    pencil_room = 9.0 if roomy else 3.6
    text_width = width - left - margin
    pencil_y = height - (3.6 if roomy else 2.4)
    text = Box(left, margin, text_width, pencil_y - pencil_room - margin)
    code_pt = _code_size(text_width, height)
    number: Box | None = None
    code_width = _CODE_EM * code_pt / POINTS_PER_MM
    if roomy:
        number = Box(edge + 2.0, edge + side, side - 4.0, height - side - edge - 2.0)
    elif text_width - code_width >= 11:
        free = text_width - code_width - 1.0
        number = Box(width - margin - free, margin, free, code_pt * CODE_LEADING / POINTS_PER_MM)
    below = side == FULL_QR_BOX_MM and not roomy  # the line may run on below the symbol
    pencil_x = 3.0 if below else left
    return Form(
        Box(0, 0, width, height),
        qr,
        text,
        number,
        code_pt,
        pencil_y,
        pencil_x,
        width - margin - pencil_x,
    )


def _upright(width: float, height: float, side: float) -> Form:
    edge, margin = 0.8, 3.0
    top = edge + side
    number = Box(edge + side + 1.0, edge + 3.0, width - side - edge - 1.0 - margin, side - 6.0)
    pencil_y = height - 5.0
    text = Box(margin, top, width - 2 * margin, pencil_y - 8.5 - top)
    return Form(
        Box(0, 0, width, height),
        Box(edge, edge, side, side),
        text,
        number,
        _code_size(text.width_mm, height),
        pencil_y,
        margin,
        width - 2 * margin,
    )


def _code_size(text_width_mm: float, label_height_mm: float) -> float:
    """The largest size at which the code stands on one line and takes a fifth of the height."""
    for size_pt in CODE_SIZES_PT:
        fits = _CODE_EM * size_pt <= text_width_mm * POINTS_PER_MM
        if fits and size_pt * CODE_LEADING <= label_height_mm * POINTS_PER_MM * 0.225:
            return size_pt
    return CODE_SIZES_PT[-1]


def _check_start(stock: Stock, start_at: int) -> None:
    if not 1 <= start_at <= stock.labels_per_sheet:
        where = f"a sheet of this size has positions 1 to {stock.labels_per_sheet}"
        if stock.is_roll:
            where = "on a roll the first label is always at 1"
        message = f"The labels cannot start at {start_at}: {where}."
        raise BadPlacement(message)
