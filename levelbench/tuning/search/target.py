"""The controller that settings are typed into: its form, units and digits. Settings exist only as they can be typed.

What is searched are PI settings with set point weight and PV filter. Every candidate is rounded to what can be typed
before it is simulated, so that nothing that was found is lost by typing it. Without a derivative the series form is
the standard one.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from levelbench.project import Value
from levelbench.project.records import LoopSettings
from levelbench.quantity import Dimension, in_unit, precise
from levelbench.rig import kernel
from levelbench.rig.assemble import Rig
from levelbench.rig.errors import RigError
from levelbench.rig.settings import Settings
from levelbench.tuning.typed import KEYPAD, all_typed, spelled, unit_of_gain

D = Dimension
DIGITS = KEYPAD
MOST_DIGITS = 6
WEIGHT_STEP = 0.05


@dataclass(frozen=True)
class Typed:
    """Settings as numbers in the target's own form and units: gain (or band), integral, weight b, PV filter."""

    gain: float
    integral: float
    weight: float
    pv_filter: float


@dataclass(frozen=True)
class Loop:
    """What the loop gets: settings in standard form, set point weight [1], time constant of the PV filter [s]."""

    settings: Settings
    weight: float
    pv_filter: float


def loop_of(rig: Rig) -> Loop:
    """Give what a rig's loop is set to now, whether it could be typed or not."""
    panel = rig.panel
    settings = Settings(*(float(panel[at]) for at in (kernel.P_GAIN, kernel.P_INTEGRAL, kernel.P_DERIVATIVE)))
    return Loop(settings, float(panel[kernel.P_WEIGHT]), float(panel[kernel.P_PV_FILTER]))


@dataclass(frozen=True)
class Target:
    """Form and units of a project's controller, and how many significant digits it takes.

    loop: the settings as typed now; span: volume from 0 to 100 % of the PV [m3].
    """

    loop: LoopSettings
    span: float
    digits: int = DIGITS

    def __post_init__(self) -> None:
        """Refuse a number of digits that no controller has. Raises RigError."""
        if not 2 <= self.digits <= MOST_DIGITS:
            advice = f"Give 2 to {MOST_DIGITS}: as many as the controller's page shows."
            raise RigError(f"Settings can't be rounded to {self.digits} digits.", "search.digits", advice)

    @property
    def form(self) -> str:
        """The form that the controller computes."""
        return self.loop.form

    def typed(self, loop: Loop) -> Typed:
        """Round what a loop should get to what can be typed; a derivative is left out."""
        gain, time = loop.settings.gain / self._one_gain, loop.settings.integral_time
        number = self._round(100 / gain if self._is_band else gain)
        if self.form == "parallel":
            kept = 100 / number if self._is_band else number
            integral = self._round(kept / time * self._second)
        else:
            integral = self._round(1 / time * self._second if self._is_rate else time / self._second)
        weight = round(min(max(loop.weight, 0.0), 1.0) / WEIGHT_STEP) * WEIGHT_STEP
        smoothing = loop.pv_filter / self._filter_second
        return Typed(number, integral, round(weight, 2), self._round(smoothing) if smoothing > 0 else 0.0)

    def loop_at(self, typed: Typed) -> Loop:
        """Give what the loop gets when so much is typed."""
        gain = 100 / typed.gain if self._is_band else typed.gain
        if self.form == "parallel":
            time = gain / typed.integral * self._second
        else:
            time = self._second / typed.integral if self._is_rate else typed.integral * self._second
        return Loop(Settings(gain * self._one_gain, time, 0.0), typed.weight, typed.pv_filter * self._filter_second)

    def beside(self, typed: Typed) -> Iterator[Typed]:
        """Give the settings that differ by one in the last digit of gain or integral, or by a step of the weight."""
        for sign in (1, -1):
            yield replace(typed, gain=self._round(typed.gain + sign * self._last(typed.gain)))
            yield replace(typed, integral=self._round(typed.integral + sign * self._last(typed.integral)))
            weight = round(typed.weight + sign * WEIGHT_STEP, 2)
            if 0 <= weight <= 1:
                yield replace(typed, weight=weight)

    def edits(self, typed: Typed) -> dict[str, Value]:
        """Give the entries of the project and the texts to be typed into them."""
        wanted = all_typed(self.loop, self.span, self.loop_at(typed).settings, self.digits)
        if self.loop.derivative.si == 0:
            del wanted["loop_settings.derivative"]
        smoothing = f"{precise(typed.pv_filter)} {spelled(self.loop.pv_filter)}"
        return {
            **wanted,
            "loop_settings.set_point_weight": precise(typed.weight),
            "loop_settings.pv_filter": smoothing,
        }

    def words(self, typed: Typed) -> tuple[tuple[str, str], ...]:
        """Give name and text of each setting, as it is typed."""
        named = ((key.rpartition(".")[2].replace("_", " "), str(text)) for key, text in self.edits(typed).items())
        return tuple((name.replace("pv", "PV"), text) for name, text in named)

    @property
    def _is_band(self) -> bool:
        return self.loop.gain is None

    @property
    def _is_rate(self) -> bool:
        typed = self.loop.integral
        return typed is not None and typed.dimension is D.REPEAT_RATE

    @property
    def _one_gain(self) -> float:
        """One typed unit of gain [1/m3]."""
        return unit_of_gain(self.loop, self.span)

    @property
    def _integral_unit(self) -> str:
        if self.loop.integral is not None:
            return self.loop.integral.unit
        return "1/s" if self.form == "parallel" else "s"

    @property
    def _second(self) -> float:
        """How many seconds the typed unit of time has [s], also where it is a rate."""
        rate = self.form == "parallel" or self._is_rate
        one = in_unit(1.0, D.REPEAT_RATE if rate else D.TIME, self._integral_unit)
        return one if rate else 1 / one

    @property
    def _filter_second(self) -> float:
        return 1 / in_unit(1.0, D.TIME, self.loop.pv_filter.unit)

    def _round(self, value: float) -> float:
        return float(f"{value:.{self.digits - 1}e}")

    def _last(self, value: float) -> float:
        """Give one in the last digit of a value."""
        return float(10.0 ** (math.floor(math.log10(value) + 1e-9) - self.digits + 1))
