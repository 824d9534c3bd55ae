"""Quantities as a person types and reads them: the one place where units are known.

Above this room every number is a plain SI float; the text that was typed stays with the `Quantity` that it made.
May import: pint, and nothing else of this program.
"""

from levelbench.quantity.dimension import Dimension
from levelbench.quantity.errors import LevelBenchError, PlacedError, QuantityError
from levelbench.quantity.figure import COMMON_PRACTICE, Figure
from levelbench.quantity.notation import (
    NumberFormat,
    in_marks,
    in_prose,
    number_format,
    numbers_shown_as,
    precise,
    rounded,
    show_numbers_as,
    written,
)
from levelbench.quantity.numerals import without_doubt
from levelbench.quantity.quantity import Quantity
from levelbench.quantity.reading import in_unit, read, unit_named, units_of
from levelbench.quantity.showing import Units, show

__all__ = [
    "COMMON_PRACTICE",
    "Dimension",
    "Figure",
    "LevelBenchError",
    "NumberFormat",
    "PlacedError",
    "Quantity",
    "QuantityError",
    "Units",
    "in_marks",
    "in_prose",
    "in_unit",
    "number_format",
    "numbers_shown_as",
    "precise",
    "read",
    "rounded",
    "show",
    "show_numbers_as",
    "unit_named",
    "units_of",
    "without_doubt",
    "written",
]
