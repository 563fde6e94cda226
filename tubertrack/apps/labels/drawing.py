"""Content streams of PDF: black rectangles and rules, in millimetres from the top left.

Everything of a symbol is one path, filled once: rectangles that touch then show no seam.
"""

from tubertrack.apps.labels.layout import POINTS_PER_MM
from tubertrack.apps.labels.qr import Symbol


class PageDrawing:
    """What is drawn on one page beside the text. `operators()` is a PDF content stream."""

    def __init__(self, page_height_mm: float) -> None:
        self._height_pt = page_height_mm * POINTS_PER_MM
        self._operators: list[str] = ["0 g 0 G"]

    def symbol(self, symbol: Symbol, x_mm: float, y_mm: float, module_mm: float) -> None:
        """A QR symbol, upright, its top left corner (without quiet zone) at x, y."""
        module = module_mm * POINTS_PER_MM
        left, top = x_mm * POINTS_PER_MM, self._height_pt - y_mm * POINTS_PER_MM
        # One unit is one module; y grows upwards, so that nothing is ever mirrored.
        self._operators.append(f"q {module:.6g} 0 0 {module:.6g} {left:.4f} {top:.4f} cm")
        self._operators.extend(
            f"{box.x} {-box.y - box.height} {box.width} {box.height} re"
            for box in symbol.rectangles
        )
        self._operators.append("f Q")

    def rule(
        self, x1_mm: float, y1_mm: float, x2_mm: float, y2_mm: float, *, width_pt: float = 0.6
    ) -> None:
        """A straight black line."""
        start, end = self._point(x1_mm, y1_mm), self._point(x2_mm, y2_mm)
        self._operators.append(f"{width_pt:.3g} w {start} m {end} l S")

    def outline(
        self, x_mm: float, y_mm: float, width_mm: float, height_mm: float, *, corner_mm: float
    ) -> None:
        """A label's edge: a thin rectangle with rounded corners."""
        reach = 0.5523 * corner_mm  # a quarter circle as a Bézier curve
        right, bottom, corner = x_mm + width_mm, y_mm + height_mm, corner_mm
        at = self._point
        self._operators.append(
            f"0.4 w {at(x_mm + corner, y_mm)} m {at(right - corner, y_mm)} l "
            f"{at(right - corner + reach, y_mm)} {at(right, y_mm + corner - reach)} "
            f"{at(right, y_mm + corner)} c {at(right, bottom - corner)} l "
            f"{at(right, bottom - corner + reach)} {at(right - corner + reach, bottom)} "
            f"{at(right - corner, bottom)} c {at(x_mm + corner, bottom)} l "
            f"{at(x_mm + corner - reach, bottom)} {at(x_mm, bottom - corner + reach)} "
            f"{at(x_mm, bottom - corner)} c {at(x_mm, y_mm + corner)} l "
            f"{at(x_mm, y_mm + corner - reach)} {at(x_mm + corner - reach, y_mm)} "
            f"{at(x_mm + corner, y_mm)} c s"
        )

    def operators(self) -> bytes:
        return "\n".join(self._operators).encode("ascii")

    def _point(self, x_mm: float, y_mm: float) -> str:
        return f"{x_mm * POINTS_PER_MM:.3f} {self._height_pt - y_mm * POINTS_PER_MM:.3f}"
