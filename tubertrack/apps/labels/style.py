"""The style sheet of a job: one class a position, one a kind of block, one a size of type."""

from tubertrack.apps.labels.layout import (
    CODE_LEADING,
    POINTS_PER_MM,
    Box,
    Form,
    Placement,
    blank_lines,
    cell_origin,
    form_for,
)
from tubertrack.apps.labels.stock import KINDS, Kind, Stock
from tubertrack.apps.labels.words import (
    CAPTION_LEADING,
    CAPTION_PT,
    DETAIL_LEADING,
    GAP_PT,
    NAME_LEADING,
    SIZES_PT,
)
from tubertrack.apps.paper.fonts import MONO, SANS

_ABOVE_LINE_MM = 1.0
_BASELINE_BELOW_MIDDLE_EM = 0.36
"""Of B612: half of ascent less descent."""

_GENERAL = f"""
body, section {{ margin: 0 }}
section {{ position: relative; break-after: page }}
section:last-child {{ break-after: auto }}
div {{ position: absolute; overflow: hidden; white-space: pre; font: {GAP_PT}pt/1 {SANS} }}
i {{ font-style: normal; font-size: {CAPTION_PT}pt; line-height: {CAPTION_LEADING} }}
.k {{ font-family: {MONO}; line-height: {CODE_LEADING} }}
.w {{ line-height: {NAME_LEADING} }}
.d {{ line-height: {DETAIL_LEADING} }}
"""


def size_class(size_pt: float) -> str:
    return f"s{round(size_pt * 10)}"


def style_sheet(stock: Stock, placement: Placement) -> str:
    """CSS of every position and kind of this stock.

    The blocks' own type is small: a line is as high as what stands on it, an empty one is a gap.
    """
    rules = [_GENERAL]
    rules += [f".{size_class(size)} {{ font-size: {size}pt }}" for size in SIZES_PT]
    if not stock.is_roll:
        rules.append(_page("sheet", stock.page_width_mm, stock.page_height_mm))
    for kind in KINDS:
        if stock.is_roll:
            rules.append(_page(kind, stock.page_width_mm, stock.height_mm(kind)))
        rules += _kind(kind, form_for(stock, kind))
    for position in range(stock.labels_per_sheet):
        x_mm, y_mm = cell_origin(stock, position, placement)
        rules.append(f".p{position} {{ left: {x_mm:.3f}mm; top: {y_mm:.3f}mm }}")
    return "\n".join(rules)


def _page(name: str, width_mm: float, height_mm: float) -> str:
    # A hair less than the page, or rounding could make an empty page after each.
    return (
        f"@page {name} {{ size: {width_mm:.3f}mm {height_mm:.3f}mm; margin: 0 }}\n"
        f".{name} {{ page: {name}; height: {height_mm - 0.02:.3f}mm }}"
    )


def _kind(kind: Kind, form: Form) -> list[str]:
    rules = [_block(f"{kind}-t", form.text), f".{kind}-k {{ font-size: {form.code_pt}pt }}"]
    if form.number:
        figures_mm = form.number.height_mm
        if form.captions_number:
            figures_mm -= CAPTION_PT * CAPTION_LEADING / POINTS_PER_MM
        rules.append(_block(f"{kind}-o", form.number))
        rules.append(f".{kind}-o {{ text-align: {'center' if form.captions_number else 'right'} }}")
        rules.append(f".{kind}-f {{ line-height: {figures_mm:.3f}mm }}")
    if kind == "blank":
        for number, line in enumerate(blank_lines(form)):
            top = line.y_mm - form.blank_step_mm + _caption_shift_mm(form.blank_step_mm)
            box = Box(line.x_mm, top, line.width_mm, form.blank_step_mm)
            rules.append(_block(f"blank-c{number}", box))
        rules.append(f".blank-i {{ line-height: {form.blank_step_mm:.3f}mm }}")
    return rules


def _caption_shift_mm(step_mm: float) -> float:
    """How far a caption in a line of this height moves down to stand on the pencil line."""
    baseline_mm = step_mm / 2 + _BASELINE_BELOW_MIDDLE_EM * CAPTION_PT / POINTS_PER_MM
    return step_mm - _ABOVE_LINE_MM - baseline_mm


def _block(name: str, box: Box) -> str:
    return (
        f".{name} {{ margin: {box.y_mm:.3f}mm 0 0 {box.x_mm:.3f}mm;"
        f" width: {box.width_mm:.3f}mm; height: {box.height_mm:.3f}mm }}"
    )
