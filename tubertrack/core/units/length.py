"""Lengths. The inch is exactly 25.4 mm (international yard and pound, 1959)."""

MILLIMETRES_PER_INCH = 25.4


def mm_from_in(length_in: float) -> float:
    """Millimetres of a length in inches."""
    return length_in * MILLIMETRES_PER_INCH


def in_from_mm(length_mm: float) -> float:
    """Inches of a length in millimetres."""
    return length_mm / MILLIMETRES_PER_INCH
