"""The loop settings in every form and unit that a controller might ask for.

Sources:
[1] K. J. Åström, T. Hägglund, "PID Controllers: Theory, Design and Tuning" (1995), chapter 3: the three forms.
[2] Proportional band = 100 %/K (IEC 60050-351).
"""

import math
from dataclasses import dataclass
from typing import NamedTuple

from levelbench.project import units
from levelbench.quantity import Dimension, Figure, Units, show
from levelbench.rig.assemble import Rig
from levelbench.rig.errors import RigError
from levelbench.rig.settings import Settings, from_parallel, from_series
from levelbench.tuning.loop import settings_in

D = Dimension

FORMS = "K. J. Åström, T. Hägglund, PID Controllers: Theory, Design and Tuning (1995), chapter 3"
BAND = "proportional band = 100 %/K (IEC 60050-351)"

_ROUNDING = 1e-9  # of 1 − 4·Td/Ti

EQUATIONS = {
    "standard": "OP = K·(b·SP − PV + 1/Ti·∫(SP − PV) dt − Td·dPV/dt)",
    "parallel": "OP = K·(b·SP − PV) + Ki·∫(SP − PV) dt − Kd·dPV/dt",
    "series": "OP = K'·(1 + 1/(Ti'·s))·(1 + Td'·s)·(SP − PV)",
}


@dataclass(frozen=True)
class Value:
    """One setting in one unit: the Figure, the unit that it is shown in, and words to add behind it."""

    figure: Figure
    unit: str
    words: str = ""

    @property
    def text(self) -> str:
        """The value as it is typed into a controller, with its unit; "off" for an integral that is switched off."""
        if math.isinf(self.figure.si):
            return "off"
        return show(self.figure.si, self.figure.dimension, self.unit) + self.words


@dataclass(frozen=True)
class Form:
    """The settings in one form. `missing` says why there are no values, when this form can't express the settings."""

    name: str
    equation: str
    values: tuple[Value, ...]
    own: bool  # the form that the project says its controller computes
    missing: str = ""


def to_series(standard: Settings) -> Settings:
    """Give the series settings that act as these standard ones do [1]: K' = K/2·(1 + r) with r = √(1 − 4·Td/Ti).

    Raises RigError when Ti < 4·Td: no series controller acts so.

    >>> to_series(Settings(2.5, 12.5, 2.0))
    Settings(gain=2.0, integral_time=10.0, derivative_time=2.5)
    """
    if math.isinf(standard.integral_time):
        return standard
    under = 1 - 4 * standard.derivative_time / standard.integral_time
    if under < -_ROUNDING:
        raise RigError(
            "There is no series form of these settings: their integral time is less than 4 derivative times.",
            "loop_settings",
            "Enter them in standard or parallel form, or raise the integral time or lower the derivative time.",
        )
    r = math.sqrt(max(under, 0.0))  # exactly 4 is Ziegler's and Nichols' own
    half = standard.integral_time / 2
    return Settings(standard.gain / 2 * (1 + r), half * (1 + r), half * (1 - r))


def to_parallel(standard: Settings) -> tuple[float, float, float]:
    """Give K, Ki = K/Ti (0 when the integral is off) and Kd = K·Td, in the unit of K, per [s] and times [s] [1].

    >>> to_parallel(Settings(2.5, 12.5, 2.0))
    (2.5, 0.2, 5.0)
    """
    return standard.gain, standard.gain / standard.integral_time, standard.gain * standard.derivative_time


def rounded(standard: Settings, form: str, digits: int, gain_unit: float, time_unit: float = 1.0) -> Settings:
    """Give what the loop really gets when the settings are typed in a form with so many significant digits.

    `gain_unit` is one typed unit of gain [1/m3], `time_unit` one typed unit of time [s].
    Raises RigError when the form can't express the settings.
    """
    own = Settings(standard.gain / gain_unit, standard.integral_time / time_unit, standard.derivative_time / time_unit)
    if form == "parallel":
        typed = from_parallel(*(_to_digits(one, digits) for one in to_parallel(own)))
    else:
        shaped = to_series(own) if form == "series" else own
        kept = (_to_digits(one, digits) for one in (shaped.gain, shaped.integral_time, shaped.derivative_time))
        typed = from_series(Settings(*kept)) if form == "series" else Settings(*kept)
    return Settings(typed.gain * gain_unit, typed.integral_time * time_unit, typed.derivative_time * time_unit)


def _to_digits(value: float, digits: int) -> float:
    return value if math.isinf(value) else float(f"{value:.{digits - 1}e}")


def all_forms(rig: Rig) -> tuple[Form, ...]:
    """Give a rig's settings in the standard, the parallel and the series form, each in every unit."""
    low, high = rig.span
    return forms_of(settings_in(rig), high - low, units(rig.project), rig.project.loop_settings.form)


def forms_of(standard: Settings, span: float, in_units: Units, own: str) -> tuple[Form, ...]:
    """Give settings in the three forms, each in every unit.

    `span` is the volume from 0 to 100 % of the PV [m3]; `own` names the form that the controller computes.
    """
    inputs = (
        ("K", in_units.show(standard.gain, D.GAIN)),
        ("Ti", "off" if math.isinf(standard.integral_time) else show(standard.integral_time, D.TIME, "s")),
        ("Td", show(standard.derivative_time, D.TIME, "s")),
        ("span", in_units.show(span, D.VOLUME)),
    )
    gain_unit = in_units.of(D.GAIN)

    def form(name: str, *rows: _Row) -> Form:
        return Form(name, EQUATIONS[name], tuple(one.value(name, inputs) for one in rows), own == name)

    found = [
        form("standard", *_gains("K", standard.gain, span, gain_unit), *_times(standard, "")),
        form("parallel", *_gains("K", standard.gain, span, gain_unit), *_parallel(standard, span)),
    ]
    try:
        series = to_series(standard)
        found.append(form("series", *_gains("K'", series.gain, span, gain_unit), *_times(series, "'")))
    except RigError as error:
        found.append(Form("series", EQUATIONS["series"], (), own == "series", error.what))
    return tuple(found)


class _Row(NamedTuple):
    """One value before its inputs and its form are known."""

    key: str
    name: str
    si: float
    dimension: Dimension
    unit: str
    formula: str
    words: str = ""
    source: str = FORMS

    def value(self, form: str, inputs: tuple[tuple[str, str], ...]) -> Value:
        """Give the value of a form."""
        key = f"settings.{form}.{self.key}"
        figure = Figure(key, self.name, self.si, self.dimension, self.formula, inputs, self.source)
        return Value(figure, self.unit, self.words)


def _gains(symbol: str, gain: float, span: float, gain_unit: str) -> tuple[_Row, ...]:
    """Give a gain [1/m3] per span [m3], per volume and as a proportional band."""
    share = gain * span
    return (
        _Row("gain_of_span", "gain", share, D.NUMBER, "", f"{symbol} × span", " %/%"),
        _Row("gain", "gain", gain, D.GAIN, gain_unit, symbol),
        _Row("band", "proportional band", 1 / share, D.PERCENT, "%", "100 %/gain", source=BAND),
    )


def _times(one: Settings, prime: str) -> tuple[_Row, ...]:
    """Give integral and derivative of a standard or series form."""
    ti, td = f"Ti{prime}", f"Td{prime}"
    return (
        _Row("integral_seconds", "integral time", one.integral_time, D.TIME, "s", ti),
        _Row("integral_minutes", "integral time", one.integral_time, D.TIME, "min", ti),
        _Row("integral_rate", "integral rate", 1 / one.integral_time, D.REPEAT_RATE, "repeats/min", f"1/{ti}"),
        _Row("derivative_seconds", "derivative time", one.derivative_time, D.TIME, "s", td),
        _Row("derivative_minutes", "derivative time", one.derivative_time, D.TIME, "min", td),
    )


def _parallel(one: Settings, span: float) -> tuple[_Row, ...]:
    """Give integral and derivative of the parallel form, in % of output per % of span."""
    _, ki, kd = to_parallel(Settings(one.gain * span, one.integral_time, one.derivative_time))
    by_time, times_time = "Ki = K/Ti, in %/%", "Kd = K·Td, in %/%"
    return (
        _Row("integral_per_second", "integral gain", ki, D.REPEAT_RATE, "1/s", by_time),
        _Row("integral_per_minute", "integral gain", ki, D.REPEAT_RATE, "1/min", by_time),
        _Row("derivative_seconds", "derivative gain", kd, D.TIME, "s", times_time),
        _Row("derivative_minutes", "derivative gain", kd, D.TIME, "min", times_time),
    )
