"""Loop settings as they are typed into a project or a controller: form and units stay those in which the person typed.

A value of another form or unit is worked back into them, so that a gain in %/US gal stays one whoever works it out.
"""

import math
from dataclasses import dataclass

from levelbench.project import Value
from levelbench.project.records import LoopSettings
from levelbench.quantity import Dimension, Quantity, QuantityError, in_unit, precise, read
from levelbench.quantity.numerals import numeral, plain
from levelbench.rig.settings import Settings, from_parallel, from_series
from levelbench.tuning.forms import to_parallel, to_series

D = Dimension
_SAME = 1e-9  # relative: two values that differ only by how they were worked out
KEYPAD = 3  # significant digits of settings that a rule gives: its inputs are not known better


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


def all_typed(typed: LoopSettings, span: float, wanted: Settings, digits: int = KEYPAD) -> dict[str, Value]:
    """Give the edits that give a project these standard settings, each to so many digits of the person's own unit.

    `span` is the volume from 0 to 100 % of the PV [m3]. Raises RigError when the project's form can't express them.
    """
    after = three_of(wanted, typed.form, unit_of_gain(typed, span))
    return texts(typed, Three(math.nan, math.nan, math.nan), after, digits=digits)


def texts(
    typed: LoopSettings, before: Three, after: Three, form: str = "", digits: int | None = None
) -> dict[str, Value]:
    """Write what differs between two threes in the units in which the person typed; `form`: the one after them.

    `digits`: how many significant ones; left out: as many as come near enough.
    """
    made: dict[str, Value] = {}
    turned = bool(form) and (form == "parallel") != (typed.form == "parallel")
    if not _same(before.gain, after.gain):
        made |= _gain_text(typed, after.gain, digits)
    if turned or not _same(before.integral, after.integral):
        made["integral"] = _integral_text(typed, after.integral, form or typed.form, digits)
    if not _same(before.derivative, after.derivative):
        made["derivative"] = _written(after.derivative, typed.derivative, digits)
    return {f"loop_settings.{key}": value for key, value in made.items()}


def _gain_text(typed: LoopSettings, gain: float, digits: int | None) -> dict[str, Value]:
    """Write a gain, given in the unit of the project's equation, as the project has it typed."""
    if typed.proportional_band is not None:
        return {"proportional_band": f"{_number(100 / gain, digits)} %"}
    assert typed.gain is not None
    return {"gain": f"{_number(gain, digits)} {spelled(typed.gain)}".strip()}


def _integral_text(typed: LoopSettings, value: float, form: str, digits: int | None) -> str:
    """Write an integral: a time or a rate in the person's unit, as far as the form takes it."""
    if value == 0 or math.isinf(value):
        return "off"
    now, parallel = typed.integral, form == "parallel"
    minutes = now is not None and "min" in now.unit
    if now is not None and parallel == (typed.form == "parallel"):
        rate = now.dimension is D.REPEAT_RATE
        return _written(value if parallel or not rate else 1 / value, now, digits)
    unit = ("1/" if parallel else "") + ("min" if minutes else "s")
    dimension = D.REPEAT_RATE if parallel else D.TIME
    return f"{_number(in_unit(value, dimension, unit), digits)} {unit}"


def _written(si: float, now: Quantity, digits: int | None) -> str:
    return f"{_number(in_unit(si, now.dimension, now.unit), digits)} {spelled(now)}".strip()


def _number(value: float, digits: int | None) -> str:
    return precise(value if digits is None else float(f"{value:.{digits - 1}e}"))


def spelled(quantity: Quantity) -> str:
    """Give a quantity's unit as the person wrote it, "gal" where that was typed for the US gallon."""
    try:
        rest = numeral(plain(quantity.text), "").rest
        return rest if read(f"1 {rest}".strip(), quantity.dimension).unit == quantity.unit else quantity.unit
    except QuantityError:
        return quantity.unit


def _same(one: float, other: float) -> bool:
    return one == other or math.isclose(one, other, rel_tol=_SAME)
