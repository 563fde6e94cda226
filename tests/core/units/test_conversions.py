"""Conversions against figures printed in both units.

The figures come from growing guides that print one unit, with the other unit worked out by hand
("arithmetic"), and from the definitions of the pound and the inch.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubertrack.core import units

# (value in F, value in C, source)
TEMPERATURES = [
    (
        45,
        7.22,
        "Bolles, The Harvesting and Storage of Dahlias, 1921: best store at 45 F; arithmetic",
    ),
    (
        40,
        4.44,
        "Iowa State University Extension, overwintering dahlias: 40 to 50 F; arithmetic",
    ),
    (
        50,
        10.00,
        "Iowa State University Extension, overwintering dahlias: 40 to 50 F; arithmetic",
    ),
    (
        60,
        15.56,
        "Gathering Flower Farm growing guide: soil at 60 F to plant; arithmetic",
    ),
    (
        28,
        -2.22,
        "North Carolina State University Climate Office: killing frost below 28 F; arithmetic",
    ),
    (
        15,
        -9.44,
        "Hankins, Virginia State University, about 2002: nights near 15 F kill in the soil; arithmetic",
    ),
    (
        41,
        5.00,
        "Stock & Nischwitz, ASCFG 2021, citing Brondum & Heins 1993: injury below 41 F",
    ),
    (
        88,
        31.11,
        "Stock & Nischwitz, ASCFG 2021, citing Brondum & Heins 1993: injury above 88 F",
    ),
    (32, 0.00, "freezing point of water, definition of the Fahrenheit scale"),
    (212, 100.00, "boiling point of water, definition of the Fahrenheit scale"),
]


@pytest.mark.parametrize(("temp_f", "temp_c", "source"), TEMPERATURES)
def test_temperature_agrees_with_the_printed_pair(
    temp_f: float, temp_c: float, source: str
) -> None:
    assert temp_c == pytest.approx(units.c_from_f(temp_f), abs=0.005), source
    assert temp_f == pytest.approx(units.f_from_c(temp_c), abs=0.01), source


# Dahlia society fact sheet on packed boxes: a room swing of 15 F became 6 F inside; arithmetic.
@pytest.mark.parametrize(("rise_f", "rise_c"), [(15, 8.33), (6, 3.33)])
def test_a_swing_has_no_offset_of_32(rise_f: float, rise_c: float) -> None:
    assert rise_c == pytest.approx(units.rise_c_from_f(rise_f), abs=0.005)
    assert rise_f == pytest.approx(units.rise_f_from_c(rise_c), abs=0.01)


def test_a_number_one_clump_of_90_g_is_3_17_oz() -> None:
    # Longfield Gardens plant page: a graded clump weighs at least 90 g; ounces by arithmetic.
    assert 3.17 == pytest.approx(units.oz_from_g(90), abs=0.005)


def test_the_lifting_limit_of_51_lb_is_23_kg() -> None:
    # NIOSH 94-110 (rev. 2021): load constant 51 lb, printed as 23 kg.
    assert 23 == pytest.approx(units.kg_from_lb(51), abs=0.2)
    assert 51 == pytest.approx(units.lb_from_kg(23), abs=0.5)


def test_pound_and_ounce_are_exact() -> None:
    # NIST Handbook 44, appendix C: 1 lb = 453.59237 g exactly, 16 oz to the pound.
    assert units.g_from_lb(1) == 453.59237
    assert units.g_from_oz(16) == pytest.approx(453.59237, abs=1e-9)


# Bloom size steps of the American Dahlia Society in inches (Rivers Dahlias, classification page).
@pytest.mark.parametrize(
    ("length_in", "length_mm"),
    [(10, 254), (8, 203.2), (6, 152.4), (4, 101.6), (3.5, 88.9), (2, 50.8)],
)
def test_size_steps_in_millimetres(length_in: float, length_mm: float) -> None:
    assert length_mm == pytest.approx(units.mm_from_in(length_in), abs=0.1)
    assert length_in == pytest.approx(units.in_from_mm(length_mm), abs=0.01)


PAIRS = [
    (units.c_from_f, units.f_from_c),
    (units.rise_c_from_f, units.rise_f_from_c),
    (units.g_from_oz, units.oz_from_g),
    (units.g_from_lb, units.lb_from_g),
    (units.kg_from_lb, units.lb_from_kg),
    (units.mm_from_in, units.in_from_mm),
]


@pytest.mark.parametrize(("there", "back"), PAIRS)
@given(value=st.floats(-1e6, 1e6))
def test_there_and_back_gives_the_same_value(there, back, value) -> None:
    assert value == pytest.approx(back(there(value)), rel=1e-9, abs=1e-6)


@given(low_f=st.floats(-100, 150), high_f=st.floats(-100, 150))
def test_a_rise_is_the_difference_of_two_temperatures(low_f: float, high_f: float) -> None:
    expected = units.c_from_f(high_f) - units.c_from_f(low_f)
    assert expected == pytest.approx(units.rise_c_from_f(high_f - low_f), abs=1e-9)
