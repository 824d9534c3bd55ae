"""What has to be typed into the project when a value is typed or dragged in any cell of the table of settings.

The project keeps the form and the units in which the person typed: a value of another form or unit is worked back into
them, so that a gain in %/US gal stays one whichever column was edited. Another form is taken only when it is asked for.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from levelbench.gui.tuning.setting_texts import is_bare, with_unit
from levelbench.project import Value
from levelbench.quantity import Dimension, Quantity, QuantityError, read
from levelbench.rig.errors import RigError
from levelbench.tuning.typed import Three, spelled, texts, three_of, unit_of_gain

if TYPE_CHECKING:
    from levelbench.gui.tuning.setting_texts import Row
    from levelbench.gui.work.answers import Tuned
    from levelbench.project.records import LoopSettings

D = Dimension


def changes(tuned: Tuned, typed: LoopSettings, form: str, row: Row, words: str) -> dict[str, Value]:
    """Give the edits for a text in the cell of a form and a row. Raises QuantityError when it can't be that."""
    if form == "parallel" and row.parallel_suffix:
        words = words.strip().removesuffix(row.parallel_suffix)
    unit = _unit_of(tuned, form, row)
    if form == typed.form and _as_it_stands(typed, row, words, unit):
        key = "proportional_band" if row.key == "band" else row.setting
        _value(form, row, with_unit(words, unit), tuned.span)
        now = getattr(typed, key)
        return {f"loop_settings.{key}": with_unit(words, unit if now is None else spelled(now))}
    try:
        column = three_of(tuned.settings, form, 1 / tuned.span)
        value = _value(form, row, with_unit(words, unit), tuned.span)
        wanted = Three(**{**vars(column), row.setting: value}).standard(form, 1 / tuned.span)
        one = unit_of_gain(typed, tuned.span)
        before, after = three_of(tuned.settings, typed.form, one), three_of(wanted, typed.form, one)
    except RigError as error:
        raise QuantityError(words, error.what, error.do) from error
    return texts(typed, before, after)


def in_form(tuned: Tuned, typed: LoopSettings, form: str) -> dict[str, Value]:
    """Give the edits that let the controller compute another form and the loop stay as it is, units kept."""
    one = unit_of_gain(typed, tuned.span)
    before = three_of(tuned.settings, typed.form, one)
    turned = texts(typed, before, three_of(tuned.settings, form, one), form)
    return {"loop_settings.form": form, **turned}


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
