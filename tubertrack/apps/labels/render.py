"""The door of this room: labels in, PDF out."""

from collections.abc import Sequence

from tubertrack.apps.labels.label import LabelData
from tubertrack.apps.labels.layout import Placement
from tubertrack.apps.labels.pages import compose
from tubertrack.apps.labels.pdf import write_pdf
from tubertrack.apps.labels.stock import Stock
from tubertrack.apps.paper.fonts import Fonts


def render_labels(
    labels: Sequence[LabelData],
    stock: Stock,
    *,
    start_at: int = 1,
    offset_x_mm: float = 0.0,
    offset_y_mm: float = 0.0,
    pitch_x_mm: float | None = None,
    pitch_y_mm: float | None = None,
    cut_marks: bool = False,
    fonts: Fonts | None = None,
) -> bytes:
    """A PDF of the labels at exact size, to be printed without scaling.

    Shape:  at least one label.
    Unit:   millimetres; positive offsets go right and down.
    Errors: BadPlacement (start_at is not on a sheet), PdfUnavailable, ValueError without labels.
    """
    if not labels:
        message = "There is no label to print."
        raise ValueError(message)
    face = fonts or Fonts()
    placement = Placement(start_at, offset_x_mm, offset_y_mm, pitch_x_mm, pitch_y_mm)
    pages = compose(labels, stock, placement, cut_marks=cut_marks, bundled_face=face.is_bundled)
    return write_pdf(pages.html, pages.css, face, pages.drawings, f"Labels, {stock.name}")
