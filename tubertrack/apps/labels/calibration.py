"""A page that shows where a printer really puts things, laid over a sheet against the light."""

from html import escape

from tubertrack.apps.labels.drawing import PageDrawing
from tubertrack.apps.labels.layout import Placement, cell_origin
from tubertrack.apps.labels.pdf import write_pdf
from tubertrack.apps.labels.stock import Stock
from tubertrack.apps.paper.fonts import SANS, Fonts

BAR_MM = 100.0
_TICKS_MM = 10
_TEXT_PT = 8.5
_WORDS_REACH_MM = (12.0, 24.0)
"""Above and below the bar: labels there have no outline, so that the words can be read."""


def render_calibration(stock: Stock, placement: Placement, fonts: Fonts | None = None) -> bytes:
    """A PDF page with the outline of every label, rulers at the first and last, and a bar of 100 mm.

    On a roll the bar is 50 mm long. `placement` is drawn as it stands, so that a page printed with
    the corrections proves them.

    Errors: PdfUnavailable.
    """
    face = fonts or Fonts()
    height_mm = stock.height_mm("crate") if stock.is_roll else stock.page_height_mm
    drawing = PageDrawing(height_mm)
    origins = [
        cell_origin(stock, position, placement) for position in range(stock.labels_per_sheet)
    ]
    inset_mm = 1.0 if stock.is_roll else 0.0  # a roll's edge is the paper's edge
    bar_mm = BAR_MM if stock.page_width_mm > BAR_MM else BAR_MM / 2
    bar_x_mm = (stock.page_width_mm - bar_mm) / 2
    bar_y_mm = height_mm / 2 if stock.is_roll else _bar_row_mm(stock, placement)
    for x_mm, y_mm in origins:
        if not stock.is_roll and _is_under_words(y_mm, stock.label_height_mm, bar_y_mm):
            continue
        drawing.outline(
            x_mm + inset_mm,
            y_mm + inset_mm,
            stock.label_width_mm - 2 * inset_mm,
            stock.height_mm("crate") - 2 * inset_mm,
            corner_mm=stock.corner_mm,
        )
    for x_mm, y_mm in {origins[0], origins[-1]}:
        _draw_ruler(drawing, x_mm, y_mm)
    _draw_bar(drawing, bar_x_mm, bar_y_mm, bar_mm)
    html, css = _words(stock, placement, (bar_x_mm, bar_y_mm, bar_mm), height_mm)
    return write_pdf(html, css, face, [drawing.operators()], f"Calibration, {stock.name}")


def _bar_row_mm(stock: Stock, placement: Placement) -> float:
    """Height of the bar: in the middle of the row of labels in the middle of the sheet."""
    middle = stock.rows // 2 * stock.columns
    return cell_origin(stock, middle, placement)[1] + stock.label_height_mm / 2


def _is_under_words(y_mm: float, label_height_mm: float, bar_y_mm: float) -> bool:
    above_mm, below_mm = _WORDS_REACH_MM
    return y_mm < bar_y_mm + below_mm and y_mm + label_height_mm > bar_y_mm - above_mm


def _draw_ruler(drawing: PageDrawing, x_mm: float, y_mm: float) -> None:
    """Millimetres right and down from a label's top left corner, longer at 5 and 10."""
    for tick in range(1, _TICKS_MM + 1):
        long_mm = 3.0 if tick % 5 == 0 else 1.6
        drawing.rule(x_mm + tick, y_mm, x_mm + tick, y_mm + long_mm, width_pt=0.3)
        drawing.rule(x_mm, y_mm + tick, x_mm + long_mm, y_mm + tick, width_pt=0.3)


def _draw_bar(drawing: PageDrawing, x_mm: float, y_mm: float, length_mm: float) -> None:
    drawing.rule(x_mm, y_mm, x_mm + length_mm, y_mm, width_pt=0.8)
    for tick in range(0, round(length_mm) + 1, 5):
        half_mm = 2.5 if tick % 50 == 0 else 1.2
        drawing.rule(x_mm + tick, y_mm - half_mm, x_mm + tick, y_mm + half_mm, width_pt=0.4)


def _words(
    stock: Stock, placement: Placement, bar: tuple[float, float, float], height_mm: float
) -> tuple[str, str]:
    bar_x_mm, bar_y_mm, bar_mm = bar
    pitch_x_mm = stock.pitch_x_mm if placement.pitch_x_mm is None else placement.pitch_x_mm
    pitch_y_mm = stock.pitch_y_mm if placement.pitch_y_mm is None else placement.pitch_y_mm
    said = [
        f"This bar is {bar_mm:.0f} mm. If it is not, choose “Actual size” or “100 %” when printing.",
        (
            "Lay this page over a sheet of labels, against the light. Measure from each label’s corner"
            " to the corner drawn here, at the first label and at the last."
        ),
        (
            f"{stock.name}. Drawn with offset {placement.offset_x_mm:.1f} mm right,"
            f" {placement.offset_y_mm:.1f} mm down, pitch {pitch_x_mm:.2f} x {pitch_y_mm:.2f} mm."
        ),
    ]
    above, *below = [f"<p>{escape(sentence)}" for sentence in said]
    html = (
        "<!doctype html><html lang=en><title>Calibration</title><body>"
        f"<div class=above>{above}</div><div class=below>{''.join(below)}</div></body></html>"
    )
    css = f"""
@page {{ size: {stock.page_width_mm:.3f}mm {height_mm:.3f}mm; margin: 0 }}
body {{ margin: 0; font: {_TEXT_PT}pt/1.3 {SANS} }}
p {{ margin: 0 0 1mm }}
div {{ position: absolute; left: {bar_x_mm:.2f}mm; width: {bar_mm:.2f}mm; text-align: center }}
.above {{ bottom: {height_mm - bar_y_mm + 3:.2f}mm }}
.below {{ top: {bar_y_mm + 4:.2f}mm }}
"""
    return html, css
