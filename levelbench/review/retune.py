"""Edits that would give the loop another gain or integral time, in the form and unit in which the person typed them."""

import math

from levelbench.quantity import Dimension, LevelBenchError, in_marks, in_unit
from levelbench.review.edits import Edits
from levelbench.rig.bench import Bench
from levelbench.rig.settings import Settings
from levelbench.tuning.forms import to_parallel, to_series
from levelbench.tuning.loop import settings_in


def with_gain(bench: Bench, gain: float, integral_time: float) -> Edits:
    """Give the edits for a gain [1/m3] and an integral time [s], derivative off: the rules leave it out."""
    off: Edits = {"loop_settings.derivative": "0 s"} if settings_in(bench.rig).derivative_time > 0 else {}
    return _edits(bench, Settings(gain, integral_time, 0.0)) | off


def with_integral(bench: Bench, integral_time: float) -> Edits:
    """Give the edits for another integral time [s] at the same gain."""
    now = settings_in(bench.rig)
    return _edits(bench, Settings(now.gain, integral_time, now.derivative_time))


def _edits(bench: Bench, wanted: Settings) -> Edits:
    """Write settings as they are typed into this project's form; the integral is rounded up (slower), the gain down."""
    typed = bench.project.loop_settings
    empty, full = bench.rig.span
    what_if: Edits = {}
    if typed.form == "series":
        try:
            wanted = to_series(wanted)
        except LevelBenchError:
            wanted = Settings(wanted.gain, wanted.integral_time, 0.0)
            what_if["loop_settings.derivative"] = "0 s"
    own = wanted.gain * (full - empty)  # %/%
    if typed.gain is not None and typed.gain.per_volume:
        own = in_unit(wanted.gain, Dimension.GAIN, typed.gain.unit)
        what_if["loop_settings.gain"] = f"{_digits(own, up=False)} {typed.gain.unit}"
    elif typed.gain is not None:
        what_if["loop_settings.gain"] = f"{_digits(own, up=False)} %/%"
    else:
        what_if["loop_settings.proportional_band"] = f"{_digits(100.0 / own, up=True)} %"
    if typed.form == "parallel":
        _, rate, kd = to_parallel(Settings(own, wanted.integral_time, wanted.derivative_time))
        what_if["loop_settings.integral"] = f"{_digits(rate, up=False)} 1/s"
        if kd > 0:
            what_if["loop_settings.derivative"] = f"{_digits(kd, up=False)} s"
    else:
        what_if["loop_settings.integral"] = f"{_digits(wanted.integral_time, up=True)} s"
    return what_if


def _digits(value: float, *, up: bool) -> str:
    """Round a positive value to four significant digits, up or down."""
    step = 10.0 ** (math.floor(math.log10(value)) - 3)
    rounded = (math.ceil(value / step - 1e-9) if up else math.floor(value / step + 1e-9)) * step
    return in_marks(f"{rounded:.4g}" if 1e-4 <= rounded < 1e5 else f"{rounded:.10f}".rstrip("0").rstrip("."))
