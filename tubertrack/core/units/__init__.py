"""Conversions between what a grower reads off an instrument and what is stored.

Stored units are fixed: degrees Celsius, grams, millimetres. Everything here is pure arithmetic
on exact definitions; rounding for display is the caller's business.
"""

from tubertrack.core.units.length import in_from_mm, mm_from_in
from tubertrack.core.units.mass import (
    g_from_lb,
    g_from_oz,
    kg_from_lb,
    lb_from_g,
    lb_from_kg,
    oz_from_g,
)
from tubertrack.core.units.temperature import (
    c_from_f,
    f_from_c,
    rise_c_from_f,
    rise_f_from_c,
)

__all__ = [
    "c_from_f",
    "f_from_c",
    "g_from_lb",
    "g_from_oz",
    "in_from_mm",
    "kg_from_lb",
    "lb_from_g",
    "lb_from_kg",
    "mm_from_in",
    "oz_from_g",
    "rise_c_from_f",
    "rise_f_from_c",
]
