"""The typed loop settings, whatever their form and unit, as the one form that the rig computes with.

Standard form:  u = K·(e + 1/Ti·∫e dt + Td·de/dt)
Parallel form:  u = K·e + Ki·∫e dt + Kd·de/dt                      Ki = K/Ti, Kd = K·Td
Series form:    u = K'·(1 + 1/(Ti'·s))·(1 + Td'·s)·e               K = K'·(1 + Td'/Ti'), Ti = Ti' + Td', Td = Ti'·Td'/Ti

Sources:
[1] K. J. Åström, T. Hägglund, "PID Controllers: Theory, Design and Tuning" (1995), chapter 3: the three forms.
[2] Proportional band = 100 %/K (IEC 60050-351).
"""

import math
from dataclasses import dataclass

from levelbench.project.records import LoopSettings
from levelbench.quantity import Dimension, in_marks, in_unit
from levelbench.rig.errors import RigError


@dataclass(frozen=True)
class Settings:
    """A controller's settings in the standard form.

    gain: output fraction per volume [1/m3], always positive; integral_time [s], infinite when off; derivative_time [s].
    """

    gain: float
    integral_time: float
    derivative_time: float


def from_series(series: Settings) -> Settings:
    """Give the standard settings that act as these series settings do [1].

    >>> from_series(Settings(2.0, 10.0, 2.5))
    Settings(gain=2.5, integral_time=12.5, derivative_time=2.0)
    """
    if math.isinf(series.integral_time):
        return series
    ratio = series.derivative_time / series.integral_time
    return Settings(
        series.gain * (1 + ratio),
        series.integral_time + series.derivative_time,
        series.derivative_time / (1 + ratio),
    )


def from_parallel(gain: float, integral: float, derivative: float) -> Settings:
    """Give the standard settings of parallel ones: Ti = K/Ki, Td = Kd/K [1].

    gain [any unit], integral [that unit/s], 0 when off, derivative [that unit·s]; the gain comes back in its unit.

    >>> from_parallel(2.5, 0.2, 5.0)
    Settings(gain=2.5, integral_time=12.5, derivative_time=2.0)
    """
    return Settings(gain, gain / integral if integral else math.inf, derivative / gain)


def settings_of(typed: LoopSettings, span: float) -> Settings:
    """Give the standard settings in SI of what was typed.

    span: volume from 0 to 100 % of the PV [m3], above 0, for a gain in % per % or a proportional band. In the parallel
    form the integral and the derivative are in the gain's own unit per time and times time.
    Raises RigError when gain and band are both given or both missing, or when the integral does not fit the form.
    """
    own, per_volume = _gain(typed, span)
    derivative = typed.derivative.si
    if typed.form == "parallel":
        found = from_parallel(own, _parallel_rate(typed), derivative)
    else:
        found = Settings(own, _integral_time(typed), derivative)
        if typed.form == "series":
            found = from_series(found)
    return Settings(found.gain * per_volume, found.integral_time, found.derivative_time)


def _gain(typed: LoopSettings, span: float) -> tuple[float, float]:
    """Give the gain as typed, in its own unit, and what one such unit is in output fraction per m3."""
    if (typed.gain is None) == (typed.proportional_band is None):
        many = "neither a gain nor a proportional band" if typed.gain is None else "a gain and a proportional band"
        raise RigError(
            f"The loop settings give {many}.", "loop_settings.gain", "Give one of the two: band = 100 %/gain."
        )
    if typed.gain is None:
        assert typed.proportional_band is not None
        return 1 / typed.proportional_band.si, 1 / span
    if not typed.gain.per_volume:
        return typed.gain.si, 1 / span
    own = in_unit(typed.gain.si, Dimension.GAIN, typed.gain.unit)
    return own, typed.gain.si / own


def _integral_time(typed: LoopSettings) -> float:
    """Give the integral time [s] of a standard or series form, from a time or a rate."""
    if typed.integral is None:
        return math.inf
    return 1 / typed.integral.si if typed.integral.dimension is Dimension.REPEAT_RATE else typed.integral.si


def _parallel_rate(typed: LoopSettings) -> float:
    """Give the integral of a parallel form: the gain's unit per second, 0 when off."""
    if typed.integral is None:
        return 0.0
    if typed.integral.dimension is not Dimension.REPEAT_RATE:
        raise RigError(
            f"A parallel form takes its integral as gain per time, not as the time {typed.integral.shown}.",
            "loop_settings.integral",
            in_marks("Enter gain/Ti, for example 3.3 1/min, or set the form to standard."),
        )
    return typed.integral.si
