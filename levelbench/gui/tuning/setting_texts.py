"""What has to be typed into the project so that its controller uses a setting in a given form and unit.

The table of settings has a column a form and a row a unit. To type into one of its cells says: my controller computes
this form, and takes this setting in this unit. The other settings keep their texts where they mean the same as before,
else they are written as they stand in that column.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from levelbench.quantity import Dimension, QuantityError, in_marks, in_unit, read, without_doubt
from levelbench.quantity.numerals import numeral, plain

if TYPE_CHECKING:
    from levelbench.gui.work.answers import Tuned
    from levelbench.project import Value
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


def changes(tuned: Tuned, typed: LoopSettings, form: str, row: Row, words: str) -> dict[str, Value]:
    """Give the edits that say: the controller computes this form, and has this setting typed in this unit.

    Raises QuantityError when a gain can't be read; the project itself refuses the rest.
    """
    column = shown_values(tuned, form)
    made: dict[str, Value] = {} if typed.form == form else {"form": form}
    own_unit = column[row.key].unit if row.key in column else row.unit
    words = with_unit(words, "%/%" if row.key == "gain_of_span" else own_unit)
    if row.key == "band":
        made |= {"proportional_band": words, "gain": None}
    elif row.setting == "gain":
        made |= {"gain": words, "proportional_band": None}
    else:
        made[row.setting] = words
    per_volume = row.setting == "gain" and row.key != "band" and read(words, D.GAIN).per_volume
    made = _rest(column, typed, form, row, per_volume) | made
    now = {"gain": typed.gain, "proportional_band": typed.proportional_band}
    return {f"loop_settings.{key}": value for key, value in made.items() if value is not None or now.get(key)}


def _rest(column: dict[str, Shown], typed: LoopSettings, form: str, row: Row, per_volume: bool) -> dict[str, Value]:
    """Give the texts of the other settings, where those of the project don't mean the same any more."""
    was_per_volume = typed.gain is not None and typed.gain.per_volume
    same = typed.form == form
    if form == "parallel" and (row.setting == "gain" or was_per_volume):
        same = same and (per_volume if row.setting == "gain" else False) == was_per_volume
    if same:
        return {}
    made: dict[str, Value] = {}
    if row.setting != "gain":
        made |= _gain_text(column, typed, form)
    factor = plain_value(column["gain"]) / plain_value(column["gain_of_span"]) if per_volume else 1.0
    scale = factor if form == "parallel" else 1.0  # a parallel integral is in the unit of its gain
    for setting in ("integral", "derivative"):
        if row.setting != setting:
            made |= _time_text(column, typed, setting, scale)
    return made


def _gain_text(column: dict[str, Shown], typed: LoopSettings, form: str) -> dict[str, Value]:
    if typed.proportional_band is not None:
        return {"proportional_band": f"{number(plain_value(column['band']))} %"}
    if typed.gain is not None and typed.gain.per_volume and form != "parallel":
        shown = column["gain"]
        value = in_unit(shown.figure.si, D.GAIN, typed.gain.unit)
        return {"gain": f"{number(value)} {typed.gain.unit}"}
    return {"gain": f"{number(plain_value(column['gain_of_span']))} %/%"}


def _time_text(column: dict[str, Shown], typed: LoopSettings, setting: str, scale: float) -> dict[str, Value]:
    """Write the integral or the derivative as it stands in a column, in the unit in which the project has it."""
    _, key = own_cell(typed, setting)
    if key not in column:
        key = "integral_minutes"  # a parallel form has no repeats
    shown = column[key]
    value = plain_value(shown)
    if setting == "derivative" and value == 0:
        return {}
    if setting == "integral" and (typed.integral is None or math.isinf(value)):
        return {}
    return {setting: f"{number(value * scale)} {shown.unit}"}
