"""Masses. The pound is exactly 453.59237 g and has 16 ounces (international yard and pound, 1959)."""

GRAMS_PER_POUND = 453.59237
GRAMS_PER_OUNCE = GRAMS_PER_POUND / 16
GRAMS_PER_KILOGRAM = 1000.0


def g_from_oz(mass_oz: float) -> float:
    """Grams of a mass in avoirdupois ounces."""
    return mass_oz * GRAMS_PER_OUNCE


def oz_from_g(mass_g: float) -> float:
    """Avoirdupois ounces of a mass in grams."""
    return mass_g / GRAMS_PER_OUNCE


def g_from_lb(mass_lb: float) -> float:
    """Grams of a mass in pounds."""
    return mass_lb * GRAMS_PER_POUND


def lb_from_g(mass_g: float) -> float:
    """Pounds of a mass in grams."""
    return mass_g / GRAMS_PER_POUND


def kg_from_lb(mass_lb: float) -> float:
    """Kilograms of a mass in pounds."""
    return g_from_lb(mass_lb) / GRAMS_PER_KILOGRAM


def lb_from_kg(mass_kg: float) -> float:
    """Pounds of a mass in kilograms."""
    return lb_from_g(mass_kg * GRAMS_PER_KILOGRAM)
