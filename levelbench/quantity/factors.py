"""What every unit is in SI: our own units from a table, any other from the unit library, which is slow to load.

The library stays the authority: the table was made from it, and a test asks it anew for every unit of the vocabulary.
The table is there because a window that is to open at once can't wait a quarter of a second for gallons.
"""

import functools
import threading
from decimal import Decimal
from typing import Any

# unit expression of the vocabulary → its SI value; to 28 digits, as the library gives it, where there is no end to them
FACTORS: dict[str, Decimal] = {
    name: Decimal(factor)
    for name, factor in {
        "dimensionless": "1",
        "percent": "0.01",
        "meter": "1",
        "centimeter": "0.01",
        "millimeter": "0.001",
        "inch": "0.0254",
        "foot": "0.3048",
        "thou": "0.0000254",
        "meter**3": "1",
        "liter": "0.001",
        "milliliter": "0.000001",
        "gallon": "0.003785411784",
        "quart": "0.000946352946",
        "liquid_pint": "0.000473176473",
        "fluid_ounce": "0.0000295735295625",
        "imperial_gallon": "0.00454609",
        "imperial_pint": "0.00056826125",
        "imperial_fluid_ounce": "0.0000284130625",
        "inch**3": "0.000016387064",
        "foot**3": "0.028316846592",
        "second": "1",
        "millisecond": "0.001",
        "minute": "60",
        "hour": "3600",
        "day": "86400",
        "kelvin": "1",
        "delta_degC": "1",
        "delta_degF": "0.5555555555555555555555555556",
        "kilogram/meter**3": "1",
        "gram/milliliter": "1000",
        "kilogram/liter": "1000",
        "pound/gallon": "119.8264273168966285439132557",
        "pound/foot**3": "16.01846337396013957965507065",
        "pascal*second": "1",
        "millipascal*second": "0.001",
        "centipoise": "0.001",
        "ampere": "1",
        "milliampere": "0.001",
        "microampere": "0.000001",
        "gallon/minute/psi**0.5": "7.598054212083368440733368767E-7",
        "meter**3/hour/bar**0.5": "8.784104611578831477774704290E-7",
    }.items()
}
# scales with a zero of their own → what 0 and 100 on them are [K]
FIXED_POINTS: dict[str, tuple[Decimal, Decimal]] = {
    "kelvin": (Decimal(0), Decimal(100)),
    "degC": (Decimal("273.15"), Decimal("373.15")),
    "degF": (Decimal("255.3722222222222222222222222"), Decimal("310.9277777777777777777777778")),
}
_once = threading.Lock()


def factor(expression: str) -> Decimal:
    """Give the SI value of a unit, a name of the table or what the unit library can read."""
    known = FACTORS.get(expression)
    return known if known is not None else asked_factor(expression)


def asked_factor(expression: str) -> Decimal:
    """Ask the unit library for the SI value of a unit."""
    return Decimal(_registry().Quantity(Decimal(1), expression).to_base_units().magnitude)


@functools.lru_cache(maxsize=256)
def kind(expression: str) -> str | None:
    """Say of what dimensionality a unit is, in the library's words; None when it knows no such unit."""
    import pint  # noqa: PLC0415  see _registry

    try:
        return str(_registry().parse_units(expression).dimensionality)
    except (pint.errors.PintError, ValueError, TypeError, KeyError, AttributeError):
        return None


def load_library() -> None:
    """Load the unit library, on a thread that may take its time, before somebody types a unit that only it knows."""
    _registry()


def _registry() -> Any:
    with _once:  # one thread loads it, any other waits for that
        return _made()


@functools.cache
def _made() -> Any:
    import pint  # noqa: PLC0415  a quarter of a second, paid only when a unit is asked for that the table does not have

    return pint.UnitRegistry(non_int_type=Decimal)  # decimal factors: a litre is 0.001 m3, not 0.0010000000000000002
