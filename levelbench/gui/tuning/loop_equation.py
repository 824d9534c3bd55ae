"""The equation of each controller form as set type: in symbols, and with the numbers of a tuning in it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from levelbench.gui.tuning.equation import Fraction, Integral, Part, Round, Row, Symbol, Word
from levelbench.gui.tuning.setting_texts import number, plain_value, shown_values

if TYPE_CHECKING:
    from levelbench.gui.work.answers import Tuned
    from levelbench.project.records import LoopSettings

OP, SP, PV = Symbol("OP"), Symbol("SP"), Symbol("PV")
_ERROR = (SP, Word("−"), PV)
_FALL = Fraction((Word("d"), PV), (Word("d"), Symbol("t")))
_SUM = (Integral(), Round(_ERROR), Word("d"), Symbol("t"))


def in_symbols(form: str) -> Row:
    """Give a form's equation in symbols."""
    gain, weighted = Symbol("K", prime=form == "series"), (Symbol("b"), Word("·"), *_ERROR)
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
    """Give the same equation with the numbers in %, % of span and seconds; None when the form can't express them."""
    form = typed.form
    column = shown_values(tuned, form)
    if not column:
        return None
    gain = Word(number(plain_value(column["gain_of_span"])))
    integral, derivative = plain_value(column["integral_seconds"]), plain_value(column["derivative_seconds"])
    weighted: tuple[Part, ...] = (Word(f"{number(typed.set_point_weight.si)}·"), *_ERROR)
    parts: list[Part]
    if form == "parallel":
        parts = [OP, Word("="), gain, Round(weighted)]
        parts += [Word("+"), Word(number(integral)), *_SUM] if integral else []
        parts += [Word("−"), Word(number(derivative)), _FALL] if derivative else []
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
