"""Temperatures and differences of temperature. They are two things: a rise has no offset of 32."""


def c_from_f(temp_f: float) -> float:
    """Degrees Celsius of a temperature in degrees Fahrenheit.

    Source: C = (F - 32) / 1.8 by definition of the scales (NIST SP 811, appendix B.8).
    """
    return (temp_f - 32) / 1.8


def f_from_c(temp_c: float) -> float:
    """Degrees Fahrenheit of a temperature in degrees Celsius. Source: as c_from_f."""
    return temp_c * 1.8 + 32


def rise_c_from_f(rise_f: float) -> float:
    """A difference of temperature in Celsius degrees; 15 F degrees are 8.33 C degrees, not -9.44."""
    return rise_f / 1.8


def rise_f_from_c(rise_c: float) -> float:
    """A difference of temperature in Fahrenheit degrees."""
    return rise_c * 1.8
