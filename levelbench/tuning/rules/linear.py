"""The linear closed loop over time: the answer to a step of the set point and of the load, its dead time kept.

Process and controller are made discrete by the trapezoidal rule, the dead time is a whole number of steps; the error
falls with the square of the step. No limits, no noise, no dead zone: that is what the rig's own run is for.

Sources:
[1] K. J. Åström, B. Wittenmark, "Computer-Controlled Systems": Tustin's approximation (quoted from memory).
"""

import math
from dataclasses import dataclass
from functools import reduce

import numpy as np
from numpy.typing import NDArray

from levelbench.rig.settings import Settings
from levelbench.tuning.measures import last_outside
from levelbench.tuning.process import FirstOrder, Process

Floats = NDArray[np.float64]

_STEPS_A_DEAD_TIME, _LEAST_STEPS, _MOST_STEPS = 40, 4000, 40_000


@dataclass(frozen=True)
class Loop:
    """A process and its controller; set_point_weight b [1], derivative_filter N [1]."""

    process: Process
    settings: Settings
    set_point_weight: float = 1.0
    derivative_filter: float = 8.0


@dataclass(frozen=True)
class Answers:
    """Unit answers over time [s]: the PV to a set point step of 1; PV and output to a load that takes 1 PV unit/s."""

    time: Floats
    pv: Floats
    load_pv: Floats
    load_output: Floats

    def overshoot(self) -> float:
        """Give how far the PV goes beyond its new set point, as a share of the step [1]."""
        return max(float(self.pv.max()) - 1.0, 0.0)

    def settling(self, band: float) -> float:
        """Give when the PV stays within a band, a share of the step [1], for good [s]; infinite when not in sight."""
        return last_outside(self.time, self.pv, 1.0, band)

    def deviation(self) -> float:
        """Give the largest deviation after a load of 1 [any unit]."""
        return float(np.abs(self.load_pv).max())

    def travel(self) -> float:
        """Give how far the output goes in all after a load of 1 [any unit]."""
        return float(np.abs(np.diff(self.load_output)).sum())


def answers(loop: Loop, duration: float | None = None) -> Answers:
    """Work out both answers over a duration [s]; left out, as long as a well-damped loop needs to come to rest."""
    from scipy.signal import lfilter  # noqa: PLC0415  a quarter of a second, so on the thread that works

    lasts = _long_enough(loop) if duration is None else duration
    waits = loop.process.dead_time
    count = max(int(lasts / waits * _STEPS_A_DEAD_TIME) if waits > 0 else 0, _LEAST_STEPS)
    step = lasts / min(count, _MOST_STEPS)
    if waits >= step:
        step = waits / round(waits / step)  # the dead time is a whole number of steps
    steps = round(lasts / step)
    polynomials = _Polynomials.of(loop, step)
    ones = np.ones(steps + 1)
    found = [np.concatenate([[0.0], lfilter(one, polynomials.below, ones)]) for one in polynomials.above]
    # the trapezoidal rule sees a step as a rise from the sample before, so it came half a step before the first
    time = step * (np.linspace(0.0, steps, steps + 1) + 0.5)
    return Answers(np.concatenate([[0.0], time]), *found)


def _long_enough(loop: Loop) -> float:
    one, process = loop.settings, loop.process
    delay = process.dead_time + sum(process.lags)
    slow = 0.0 if math.isinf(one.integral_time) else 10 * one.integral_time
    own = 5 * process.time_constant if isinstance(process, FirstOrder) else 0.0
    return max(slow, own, 80 * delay, 10 / (one.gain * process.slope))


@dataclass(frozen=True)
class _Polynomials:
    """The three answers as fractions in z⁻¹ with one denominator."""

    above: tuple[Floats, Floats, Floats]  # pv, load_pv, load_output
    below: Floats

    @classmethod
    def of(cls, loop: Loop, step: float) -> "_Polynomials":
        """Put 2/h·(1 − z⁻¹)/(1 + z⁻¹) in the place of s [1]."""
        process, one = loop.process, loop.settings
        plus, rate = np.array([1.0, 1.0]), np.array([2.0, -2.0]) / step
        pole = 1 / process.time_constant if isinstance(process, FirstOrder) else 0.0
        store, lags = rate + pole * plus, [lag * rate + plus for lag in process.lags]
        lagged = reduce(np.convolve, lags, np.ones(1))
        waits = np.concatenate([np.zeros(round(process.dead_time / step)), np.ones(1)])
        above = process.slope * reduce(np.convolve, [plus] * (1 + len(lags)), np.ones(1))
        held = np.convolve(above, waits)  # of the process with its dead time; below it stand store and lagged
        tank = -plus  # a load acts on the store itself
        integral = np.ones(1) if math.isinf(one.integral_time) else one.integral_time * rate
        given = np.zeros(1) if math.isinf(one.integral_time) else plus
        lagging = one.derivative_time / loop.derivative_filter
        filtered = plus + lagging * rate if lagging > 0 else np.ones(1)
        proportional = np.convolve(integral, filtered)
        common = one.gain * np.convolve(given, filtered)
        derivative = one.gain * one.derivative_time * np.convolve(rate, integral)
        to_set_point = _sum(loop.set_point_weight * one.gain * proportional, common)
        to_pv = _sum(one.gain * proportional, common, derivative)
        own = reduce(np.convolve, [store, lagged, proportional])
        below = _sum(own, np.convolve(held, to_pv))
        return cls(
            (
                np.convolve(held, to_set_point),
                reduce(np.convolve, [tank, lagged, proportional]),
                -reduce(np.convolve, [tank, lagged, to_pv]),
            ),
            below,
        )


def _sum(*polynomials: Floats) -> Floats:
    made = np.zeros(max(one.size for one in polynomials))
    for one in polynomials:
        made[: one.size] += one
    return made
