"""The table of settings in words: its rows, the values of its columns, and the text that stands in a cell.

The table has a column a form and a row a unit; what is typed into a cell becomes edits in `typed_back`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from levelbench.quantity import Dimension, QuantityError, in_marks, in_unit, without_doubt
from levelbench.quantity.numerals import numeral, plain

if TYPE_CHECKING:
    from levelbench.gui.work.answers import Tuned
    from levelbench.project.records import LoopSettings
    from levelbench.tuning.forms import Value as Shown

FORMS = ("standard", "parallel", "series")
D = Dimension


@dataclass(frozen=True)
class Row:
    """One line of the table: which setting, in which unit ("" is the person's own unit of a gain)."""

    key: str
    setting: str  # "gain", "integral", "derivative"
    name: str
    unit: str
    parallel: str = ""  # the key in the parallel form, and what is written behind its values, where they differ
    parallel_suffix: str = ""


ROWS = (
    Row("gain_of_span", "gain", "gain", "%/%"),
    Row("gain", "gain", "", ""),
    Row("band", "gain", "prop. band", "%"),
    Row("integral_seconds", "integral", "integral", "s", "integral_per_second", "/s"),
    Row("integral_minutes", "integral", "", "min", "integral_per_minute", "/min"),
    Row("integral_rate", "integral", "", "repeats/min", "-"),
    Row("derivative_seconds", "derivative", "derivative", "s"),
    Row("derivative_minutes", "derivative", "", "min"),
)


def number(value: float) -> str:
    """Write a value to four significant digits, never with an exponent."""
    if value == 0:
        return "0"
    places = max(0, 3 - math.floor(math.log10(abs(value))))
    words = f"{value:.{places}f}"
    return in_marks(words.rstrip("0").rstrip(".") if "." in words else words)


def shown_values(tuned: Tuned, form: str) -> dict[str, Shown]:
    """Give the values of one column by the key of their row; empty when the form can't express the settings."""
    found = next(one for one in tuned.forms if one.name == form)
    by_key = {one.figure.key.rpartition(".")[2]: one for one in found.values}
    keys = {row.key: row.parallel if form == "parallel" and row.parallel else row.key for row in ROWS}
    return {row: by_key[key] for row, key in keys.items() if key in by_key}


def plain_value(shown: Shown) -> float:
    """Give the number that stands in a cell."""
    figure = shown.figure
    return figure.si if not shown.unit or math.isinf(figure.si) else in_unit(figure.si, figure.dimension, shown.unit)


def own_cell(typed: LoopSettings, setting: str) -> tuple[str, str]:
    """Give the form and the row in which the project has a setting typed."""
    if setting == "gain":
        if typed.gain is None:
            return typed.form, "band"
        return typed.form, "gain" if typed.gain.per_volume else "gain_of_span"
    if setting == "integral":
        unit = typed.integral.unit if typed.integral is not None else "s"
        if typed.form != "parallel" and typed.integral is not None and typed.integral.dimension is D.REPEAT_RATE:
            return typed.form, "integral_rate"
        return typed.form, "integral_minutes" if "min" in unit else "integral_seconds"
    return typed.form, "derivative_minutes" if typed.derivative.unit == "min" else "derivative_seconds"


def with_unit(words: str, unit: str) -> str:
    """Give what was typed with the unit of its cell, when it is a bare number. Raises QuantityError when it's empty."""
    words = without_doubt(words.strip())
    if not words:
        raise QuantityError(words, "Nothing was typed.", "Type a number, or press Esc.")
    return f"{words} {unit}".strip() if is_bare(words) else words


def is_bare(words: str) -> bool:
    """Tell whether a text is a number without a unit."""
    try:
        return not numeral(plain(without_doubt(words)), "").rest
    except QuantityError:
        return False
