"""What has to be typed into the project when a value is typed or dragged in any cell of the table of settings.

The project keeps the form and the units in which the person typed: a value of another form or unit is worked back into
them, so that a gain in %/US gal stays one whichever column was edited. Another form is taken only when it is asked for.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from levelbench.gui.tuning.setting_texts import is_bare, precise, with_unit
from levelbench.project import Value
from levelbench.quantity import Dimension, Quantity, QuantityError, in_unit, read
from levelbench.quantity.numerals import numeral, plain
from levelbench.rig.errors import RigError
from levelbench.rig.settings import Settings, from_parallel, from_series
from levelbench.tuning.forms import to_parallel, to_series

if TYPE_CHECKING:
    from levelbench.gui.tuning.setting_texts import Row
    from levelbench.gui.work.answers import Tuned
    from levelbench.project.records import LoopSettings

D = Dimension
_SAME = 1e-9  # relative: two values that differ only by how they were worked out


@dataclass(frozen=True)
class Three:
    """Gain, integral and derivative as a form's equation takes them; gain and parallel integral in one unit of gain.

    gain [that unit], integral [s], or [that unit/s] when parallel, derivative [s], or [that unit·s] when parallel.
    """

    gain: float
    integral: float
    derivative: float

    def standard(self, form: str, one: float) -> Settings:
        """Give the standard settings in SI; `one` is the unit of gain [1/m3]."""
        if form == "parallel":
            found = from_parallel(self.gain, self.integral, self.derivative)
        else:
            found = Settings(self.gain, self.integral, self.derivative)
            found = from_series(found) if form == "series" else found
        return Settings(found.gain * one, found.integral_time, found.derivative_time)


def three_of(standard: Settings, form: str, one: float) -> Three:
    """Give the three values of standard settings in a form; `one` is the unit of gain [1/m3].

    Raises RigError when the form can't express them.
    """
    own = Settings(standard.gain / one, standard.integral_time, standard.derivative_time)
    if form == "parallel":
        return Three(*to_parallel(own))
    shaped = to_series(own) if form == "series" else own
    return Three(shaped.gain, shaped.integral_time, shaped.derivative_time)


def unit_of_gain(typed: LoopSettings, span: float) -> float:
    """Give the unit in which the project's equation takes its gain [1/m3]: of its volume, or of the span [m3]."""
    if typed.gain is not None and typed.gain.per_volume:
        return typed.gain.si / in_unit(typed.gain.si, D.GAIN, typed.gain.unit)
    return 1 / span


def changes(tuned: Tuned, typed: LoopSettings, form: str, row: Row, words: str) -> dict[str, Value]:
    """Give the edits for a text in the cell of a form and a row. Raises QuantityError when it can't be that."""
    if form == "parallel" and row.parallel_suffix:
        words = words.strip().removesuffix(row.parallel_suffix)
    unit = _unit_of(tuned, form, row)
    if form == typed.form and _as_it_stands(typed, row, words, unit):
        key = "proportional_band" if row.key == "band" else row.setting
        _value(form, row, with_unit(words, unit), tuned.span)
        now = getattr(typed, key)
        return {f"loop_settings.{key}": with_unit(words, unit if now is None else _spelled(now))}
    try:
        column = three_of(tuned.settings, form, 1 / tuned.span)
        value = _value(form, row, with_unit(words, unit), tuned.span)
        wanted = Three(**{**vars(column), row.setting: value}).standard(form, 1 / tuned.span)
        one = unit_of_gain(typed, tuned.span)
        before, after = three_of(tuned.settings, typed.form, one), three_of(wanted, typed.form, one)
    except RigError as error:
        raise QuantityError(words, error.what, error.do) from error
    return _texts(typed, before, after)


def in_form(tuned: Tuned, typed: LoopSettings, form: str) -> dict[str, Value]:
    """Give the edits that let the controller compute another form and the loop stay as it is, units kept."""
    one = unit_of_gain(typed, tuned.span)
    before = three_of(tuned.settings, typed.form, one)
    texts = _texts(typed, before, three_of(tuned.settings, form, one), form)
    return {"loop_settings.form": form, **texts}


def _as_it_stands(typed: LoopSettings, row: Row, words: str, unit: str) -> bool:
    """Tell whether a text of the project's own column can go into the file as it is: it is in the unit typed there."""
    if row.key == "band":
        return typed.proportional_band is not None
    now = getattr(typed, row.setting)
    if now is None:
        return row.setting == "integral" and typed.form != "parallel" and not _is_off(words)
    if typed.form == "parallel" and typed.gain is not None and typed.gain.per_volume and row.setting != "gain":
        return False  # the column tells it per % of span, the file per volume
    if is_bare(words):
        return bool(now.unit == unit)
    if row.setting == "gain":
        return bool(read(words, D.GAIN).per_volume == now.per_volume)
    return not _is_off(words)


def _is_off(words: str) -> bool:
    return words.strip().lower() == "off"


def _unit_of(tuned: Tuned, form: str, row: Row) -> str:
    """Give the unit that a bare number in a cell has."""
    if row.setting == "gain":
        return {"gain_of_span": "%/%", "band": "%"}.get(row.key) or tuned.units.of(D.GAIN)
    return f"1/{row.unit}" if form == "parallel" and row.setting == "integral" else row.unit


def _value(form: str, row: Row, words: str, span: float) -> float:
    """Read a text as the value of a column: a gain in % per % of span [m3], the rest in seconds."""
    if row.key == "band":
        return 1 / _above_zero(words, read(words, D.PERCENT))
    if row.setting == "gain":
        quantity = read(words, D.GAIN)
        return _above_zero(words, quantity) * (span if quantity.per_volume else 1.0)
    if row.setting == "integral":
        return _integral(form, words)
    quantity = read(words, D.TIME)
    if quantity.si < 0:
        raise QuantityError(words, "A derivative can't be less than 0.", "0 switches it off.")
    return quantity.si


def _integral(form: str, words: str) -> float:
    if _is_off(words):
        return 0.0 if form == "parallel" else math.inf
    if form == "parallel":
        return _above_zero(words, read(words, D.REPEAT_RATE))
    try:
        quantity = read(words, D.TIME)
    except QuantityError:
        return 1 / _above_zero(words, read(words, D.REPEAT_RATE))
    return _above_zero(words, quantity)


def _above_zero(words: str, quantity: Quantity) -> float:
    if quantity.si <= 0:
        raise QuantityError(words, "It has to be more than 0.", "")
    return quantity.si


def _texts(typed: LoopSettings, before: Three, after: Three, form: str = "") -> dict[str, Value]:
    """Write what differs between two threes in the units in which the person typed; `form`: the one after them."""
    made: dict[str, Value] = {}
    turned = bool(form) and (form == "parallel") != (typed.form == "parallel")
    if not _same(before.gain, after.gain):
        made |= _gain_text(typed, after.gain)
    if turned or not _same(before.integral, after.integral):
        made["integral"] = _integral_text(typed, after.integral, form or typed.form)
    if not _same(before.derivative, after.derivative):
        unit = _spelled(typed.derivative)
        made["derivative"] = _written(after.derivative, D.TIME, unit, typed.derivative.unit)
    return {f"loop_settings.{key}": value for key, value in made.items()}


def _gain_text(typed: LoopSettings, gain: float) -> dict[str, Value]:
    """Write a gain, given in the unit of the project's equation, as the project has it typed."""
    if typed.proportional_band is not None:
        return {"proportional_band": f"{precise(100 / gain)} %"}
    assert typed.gain is not None
    return {"gain": f"{precise(gain)} {_spelled(typed.gain)}".strip()}


def _integral_text(typed: LoopSettings, value: float, form: str) -> str:
    """Write an integral: a time or a rate in the person's unit, as far as the form takes it."""
    if value == 0 or math.isinf(value):
        return "off"
    now, parallel = typed.integral, form == "parallel"
    minutes = now is not None and "min" in now.unit
    if now is not None and parallel == (typed.form == "parallel"):
        rate = now.dimension is D.REPEAT_RATE
        return _written(value if parallel or not rate else 1 / value, now.dimension, _spelled(now), now.unit)
    unit = ("1/" if parallel else "") + ("min" if minutes else "s")
    return _written(value, D.REPEAT_RATE if parallel else D.TIME, unit, unit)


def _written(si: float, dimension: Dimension, spelled: str, unit: str) -> str:
    return f"{precise(in_unit(si, dimension, unit))} {spelled}".strip()


def _spelled(quantity: Quantity) -> str:
    """Give a quantity's unit as the person wrote it, "gal" where that was typed for the US gallon."""
    try:
        rest = numeral(plain(quantity.text), "").rest
        return rest if read(f"1 {rest}".strip(), quantity.dimension).unit == quantity.unit else quantity.unit
    except QuantityError:
        return quantity.unit


def _same(one: float, other: float) -> bool:
    return one == other or math.isclose(one, other, rel_tol=_SAME)
