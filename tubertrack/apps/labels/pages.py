"""Label sheets: HTML and CSS for the words, drawings for the symbols and the pencil lines.

Pure: data in, text and bytes out. Speed comes from two things: every block of words is placed by the
class of its position, so that nothing has to be arranged, and no symbol passes through HTML.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from tubertrack.apps.labels.drawing import PageDrawing
from tubertrack.apps.labels.fitting import Fitted
from tubertrack.apps.labels.label import LabelData
from tubertrack.apps.labels.layout import (
    Cell,
    Form,
    Placement,
    blank_lines,
    cell_origin,
    cells,
    form_for,
)
from tubertrack.apps.labels.qr import qr_symbol
from tubertrack.apps.labels.stock import KINDS, Kind, Stock
from tubertrack.apps.labels.style import size_class, style_sheet
from tubertrack.apps.labels.words import NUMBER_CAPTION, Words, words_of
from tubertrack.core.codes import show_code

SECOND_PENCIL_LINE_MM = 9.0


@dataclass(frozen=True)
class Pages:
    """Everything a job's PDF is made of; one drawing a page."""

    html: str
    css: str
    drawings: tuple[bytes, ...]


class _Page:
    """One page while labels are put on it."""

    def __init__(self, kind: Kind, height_mm: float) -> None:
        self.kind = kind
        self.words: list[str] = []
        self.drawing = PageDrawing(height_mm)


def compose(
    labels: Sequence[LabelData],
    stock: Stock,
    placement: Placement,
    *,
    cut_marks: bool = False,
    bundled_face: bool = True,
) -> Pages:
    """The pages of these labels, in their order.

    Errors: BadPlacement.
    """
    forms = {kind: form_for(stock, kind) for kind in KINDS}
    pages: list[_Page] = []
    for label, cell in zip(labels, cells(len(labels), stock, placement), strict=True):
        if cell.page == len(pages):
            height_mm = stock.height_mm(label.kind) if stock.is_roll else stock.page_height_mm
            pages.append(_Page(label.kind, height_mm))
            if cut_marks and not stock.is_roll:
                _draw_cut_marks(pages[-1].drawing, stock, placement)
        form, page = forms[label.kind], pages[-1]
        words = words_of(label, form, bundled_face=bundled_face)
        page.words.append(_html(label, words, form, cell.position))
        _draw_symbol(page.drawing, label, form, cell, stock.dots_per_inch)
        _draw_pencil_lines(page.drawing, label, words, form, cell)
    body = "".join(
        f'<section class="{page.kind if stock.is_roll else "sheet"}">{"".join(page.words)}</section>'
        for page in pages
    )
    return Pages(
        f"<!doctype html><html lang=en><title>Labels</title><body>{body}</body></html>",
        style_sheet(stock, placement),
        tuple(page.drawing.operators() for page in pages),
    )


def _html(label: LabelData, words: Words, form: Form, position: int) -> str:
    kind = label.kind
    lines = [f'<b class="k {kind}-k">{show_code(label.code)}</b>']
    if words.number_line.lines:
        lines.append(f"<i>{NUMBER_CAPTION} </i>{_lines(words.number_line, 'b', 'w')}")
    if words.name.lines:
        lines.append(_lines(words.name, "b", "w"))
    if words.details.lines:
        lines += ["", _lines(words.details, "span", "d")]
    blocks = [_block(f"{kind}-t p{position}", lines)]
    if words.number.lines:
        caption = [f"<i>{NUMBER_CAPTION}</i>"] if form.captions_number else []
        figures = _lines(words.number, "b", f"{kind}-f")
        blocks.append(_block(f"{kind}-o p{position}", [*caption, figures]))
    if kind == "blank":
        blocks += [
            _block(f"blank-c{number} p{position}", [f"<i class=blank-i>{line.caption}</i>"])
            for number, line in enumerate(blank_lines(form))
        ]
    return "".join(blocks)


def _lines(fitted: Fitted, tag: str, name: str) -> str:
    """Lines as one element: fewer elements, faster pages."""
    text = escape("\n".join(fitted.lines))
    return f'<{tag} class="{name} {size_class(fitted.size_pt)}">{text}</{tag}>'


def _block(classes: str, lines: Sequence[str]) -> str:
    return f'<div class="{classes}">' + "\n".join(lines) + "</div>"


def _draw_symbol(
    drawing: PageDrawing, label: LabelData, form: Form, cell: Cell, dots_per_inch: int
) -> None:
    symbol = qr_symbol(label.qr_text)
    module_mm = symbol.module_mm(form.qr.width_mm, dots_per_inch)
    margin_mm = (form.qr.width_mm - symbol.modules * module_mm) / 2
    left_mm = cell.x_mm + form.qr.x_mm + margin_mm
    drawing.symbol(symbol, left_mm, cell.y_mm + form.qr.y_mm + margin_mm, module_mm)


def _draw_pencil_lines(
    drawing: PageDrawing, label: LabelData, words: Words, form: Form, cell: Cell
) -> None:
    if label.kind == "blank":
        lines = [(line.x_mm, line.y_mm, line.width_mm) for line in blank_lines(form)]
    else:
        lines = [(form.pencil_x_mm, form.pencil_y_mm, form.pencil_width_mm)]
        if words.pencil_lines > 1:
            above = form.pencil_y_mm - SECOND_PENCIL_LINE_MM
            lines.append((form.text.x_mm, above, form.text.width_mm))
    for x_mm, y_mm, width_mm in lines:
        left, y = cell.x_mm + x_mm, cell.y_mm + y_mm
        drawing.rule(left, y, left + width_mm, y)


def _draw_cut_marks(drawing: PageDrawing, stock: Stock, placement: Placement) -> None:
    """Short lines in the sheet's margins, in line with the labels' edges."""
    left, top = cell_origin(stock, 0, placement)
    last_x, last_y = cell_origin(stock, stock.labels_per_sheet - 1, placement)
    right, bottom = last_x + stock.label_width_mm, last_y + stock.label_height_mm
    for column in range(stock.columns):
        x = cell_origin(stock, column, placement)[0]
        for edge in (x, x + stock.label_width_mm):
            drawing.rule(edge, top - 4, edge, top - 1, width_pt=0.3)
            drawing.rule(edge, bottom + 1, edge, bottom + 4, width_pt=0.3)
    for row in range(stock.rows):
        y = cell_origin(stock, row * stock.columns, placement)[1]
        for edge in (y, y + stock.label_height_mm):
            drawing.rule(left - 4, edge, left - 1, edge, width_pt=0.3)
            drawing.rule(right + 1, edge, right + 4, edge, width_pt=0.3)
