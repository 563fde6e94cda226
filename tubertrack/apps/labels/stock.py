"""Label stock as data: sizes in millimetres, named by their dimensions.

Sources: the dimensions are those printed on the packages of the common sheets, from common practice,
no standard. Public templates of the letter sheets differ by up to 0.8 mm at the third column, which
is why offset and pitch can be set for each printer (see calibration.py). One inch is 25.4 mm.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

Kind = Literal["crate", "lot", "blank"]
KINDS: tuple[Kind, ...] = ("crate", "lot", "blank")

FULL_QR_BOX_MM = 30.0
"""Box (symbol and quiet zone) that a phone reads from where it is held before a crate."""
CLOSE_QR_BOX_MM = 20.0
"""Smallest box on a label: the phone has to come close."""

_INCH = 25.4
_LETTER = (8.5 * _INCH, 11 * _INCH)
_A4 = (210.0, 297.0)


@dataclass(frozen=True)
class Stock:
    """One size of label sheet, or of a roll that is cut after each label.

    All lengths in millimetres, from the top left corner of the page. A roll has one column and one
    row; its page is one label, whose height depends on the kind.
    """

    key: str
    name: str
    page_width_mm: float
    page_height_mm: float
    columns: int
    rows: int
    left_mm: float
    top_mm: float
    pitch_x_mm: float
    pitch_y_mm: float
    label_width_mm: float
    label_height_mm: float
    corner_mm: float
    roll_height_mm: Mapping[str, float] = field(default_factory=dict)
    """Height of a label of each kind; empty for sheets."""
    dots_per_inch: int = 0
    """Of a thermal printer: modules are then whole dots. 0 where the printer is not of one kind."""
    note: str = ""

    @property
    def is_roll(self) -> bool:
        return bool(self.roll_height_mm)

    @property
    def labels_per_sheet(self) -> int:
        return self.columns * self.rows

    def height_mm(self, kind: Kind) -> float:
        return self.roll_height_mm[kind] if self.is_roll else self.label_height_mm

    def qr_box_mm(self, kind: Kind) -> float:
        """Side of the box with symbol and quiet zone: 30 mm on what hangs on a crate, if it fits.

        It fits when a code in 14 point stands beside it (29 mm) or below it.
        """
        if kind == "lot":
            return CLOSE_QR_BOX_MM
        spare_width_mm = self.label_width_mm - FULL_QR_BOX_MM
        spare_height_mm = self.height_mm(kind) - FULL_QR_BOX_MM
        beside = spare_width_mm >= 32 and spare_height_mm >= 1
        below = spare_width_mm >= 1 and spare_height_mm >= 20
        return FULL_QR_BOX_MM if beside or below else CLOSE_QR_BOX_MM

    def is_close_range(self, kind: Kind) -> bool:
        """Whether the symbol is too small to be read from an arm's length."""
        return self.qr_box_mm(kind) < FULL_QR_BOX_MM


LETTER_30 = Stock(
    key="letter-30",
    name="US Letter, 30 a sheet, 2 5/8 x 1 in",
    page_width_mm=_LETTER[0],
    page_height_mm=_LETTER[1],
    columns=3,
    rows=10,
    left_mm=0.1875 * _INCH,
    top_mm=0.5 * _INCH,
    pitch_x_mm=2.75 * _INCH,
    pitch_y_mm=1.0 * _INCH,
    label_width_mm=2.625 * _INCH,
    label_height_mm=1.0 * _INCH,
    corner_mm=2.0,
    note="Small: bags and lots. A crate's code has to be read from close by.",
)
LETTER_10 = Stock(
    key="letter-10",
    name="US Letter, 10 a sheet, 4 x 2 in",
    page_width_mm=_LETTER[0],
    page_height_mm=_LETTER[1],
    columns=2,
    rows=5,
    left_mm=0.15625 * _INCH,
    top_mm=0.5 * _INCH,
    pitch_x_mm=4.1875 * _INCH,
    pitch_y_mm=2.0 * _INCH,
    label_width_mm=4.0 * _INCH,
    label_height_mm=2.0 * _INCH,
    corner_mm=2.5,
    note="Large: crates.",
)
A4_21 = Stock(
    key="a4-21",
    name="A4, 21 a sheet, 63.5 x 38.1 mm",
    page_width_mm=_A4[0],
    page_height_mm=_A4[1],
    columns=3,
    rows=7,
    left_mm=7.2,
    top_mm=15.15,
    pitch_x_mm=66.0,
    pitch_y_mm=38.1,
    label_width_mm=63.5,
    label_height_mm=38.1,
    corner_mm=1.5,
    note="Crates and lots.",
)
ROLL_62 = Stock(
    key="roll-62",
    name="Roll, 62 mm wide, continuous",
    page_width_mm=62.0,
    page_height_mm=84.0,
    columns=1,
    rows=1,
    left_mm=0.0,
    top_mm=0.0,
    pitch_x_mm=62.0,
    pitch_y_mm=84.0,
    label_width_mm=62.0,
    label_height_mm=84.0,
    corner_mm=0.0,
    roll_height_mm=MappingProxyType({"crate": 84.0, "lot": 34.0, "blank": 84.0}),
    dots_per_inch=300,
    note="One label a page, cut after each. Direct thermal paper fades: a season at most.",
)

STOCKS: Mapping[str, Stock] = MappingProxyType(
    {stock.key: stock for stock in (LETTER_30, LETTER_10, A4_21, ROLL_62)}
)
