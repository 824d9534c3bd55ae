"""The equation of each controller form as set type: in symbols, and with the numbers of a tuning in it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from levelbench.gui.tuning.equation import Fraction, Integral, Part, Round, Row, Symbol, Word
from levelbench.gui.tuning.setting_texts import number, plain_value, shown_values
from levelbench.quantity import Dimension, in_unit

if TYPE_CHECKING:
    from levelbench.gui.work.answers import Tuned
    from levelbench.project.records import LoopSettings
    from levelbench.tuning.forms import Value as Shown

OP, SP, PV = Symbol("OP"), Symbol("SP"), Symbol("PV")
_ERROR = (SP, Word("−"), PV)
_FALL = Fraction((Word("d"), PV), (Word("d"), Symbol("t")))
_SUM = (Integral(), Round(_ERROR), Word("d"), Symbol("t"))


def in_symbols(form: str, *, band: bool = False) -> Row:
    """Give a form's equation in symbols; `band`: the gain is typed as a proportional band, PB."""
    gain: Part = Symbol("K", prime=form == "series")
    if band:
        gain = Fraction((Word("100 %"),), (Symbol("PB", prime=form == "series"),))
    weighted = (Symbol("b"), Word("·"), *_ERROR)
    if form == "standard":
        inside = (*weighted, Word("+"), Fraction((Word("1"),), (Symbol("T", "i"),)), *_SUM, Word("−"),
                  Symbol("T", "d"), _FALL)  # fmt: skip
        return Row((OP, Word("="), gain, Round(inside)))
    if form == "parallel":
        return Row((OP, Word("="), gain, Round(weighted), Word("+"), Symbol("K", "i"), *_SUM, Word("−"),
                    Symbol("K", "d"), _FALL))  # fmt: skip
    integral = Fraction((Word("1"),), (Symbol("T", "i", prime=True), Symbol("s")))
    derivative = Round((Word("1 +"), Symbol("T", "d", prime=True), Symbol("s")))
    return Row((OP, Word("="), gain, Round((Word("1 +"), integral)), derivative, Round(_ERROR)))


def in_numbers(tuned: Tuned, typed: LoopSettings) -> Row | None:
    """Give the same equation with its numbers as the file has its gain; None when the form can't express them.

    OP is in %, times in seconds; SP and PV are in % of span, or in the volume that a gain is typed for.
    """
    form = typed.form
    column = shown_values(tuned, form)
    if not column:
        return None
    gain, scale = _gain(column, typed)
    integral, derivative = plain_value(column["integral_seconds"]), plain_value(column["derivative_seconds"])
    weighted: tuple[Part, ...] = (Word(f"{number(typed.set_point_weight.si)}·"), *_ERROR)
    parts: list[Part]
    if form == "parallel":
        parts = [OP, Word("="), gain, Round(weighted)]
        parts += [Word("+"), Word(number(integral * scale)), *_SUM] if integral else []
        parts += [Word("−"), Word(number(derivative * scale)), _FALL] if derivative else []
        return Row(parts)
    off = math.isinf(integral)
    if form == "standard":
        inside = list(weighted)
        inside += [] if off else [Word("+"), Fraction((Word("1"),), (Word(f"{number(integral)} s"),)), *_SUM]
        inside += [Word("−"), Word(f"{number(derivative)} s"), _FALL] if derivative else []
        return Row((OP, Word("="), gain, Round(inside)))
    parts = [OP, Word("="), gain]
    if not off:
        parts.append(Round((Word("1 +"), Fraction((Word("1"),), (Word(f"{number(integral)}·"), Symbol("s"))))))
    parts += [Round((Word(f"1 + {number(derivative)}·"), Symbol("s")))] if derivative else []
    return Row((*parts, Round(_ERROR)))


def _gain(column: dict[str, Shown], typed: LoopSettings) -> tuple[Part, float]:
    """Give the gain as the file has it typed, and what one % per % of span is in its unit."""
    if typed.proportional_band is not None:
        return Fraction((Word("100 %"),), (Word(f"{number(plain_value(column['band']))} %"),)), 1.0
    share = plain_value(column["gain_of_span"])
    if typed.gain is None or not typed.gain.per_volume:
        return Word(number(share)), 1.0
    value = in_unit(column["gain"].figure.si, Dimension.GAIN, typed.gain.unit)
    return Word(f"{number(value)} {typed.gain.unit}"), value / share


def in_words(tuned: Tuned, typed: LoopSettings) -> str:
    """Say a form's equation to those who can't see it, and in what its numbers are."""
    words = next(one.equation for one in tuned.forms if one.name == typed.form)
    if typed.proportional_band is not None:
        words = words.replace("K'·", "100 %/PB'·").replace("K·", "100 %/PB·")
    of = "% of their span"
    if typed.gain is not None and typed.gain.per_volume:
        of = typed.gain.unit.removeprefix("%/")
    return f"{words}; below it with its numbers: OP in %, SP and PV in {of}, times in s"
