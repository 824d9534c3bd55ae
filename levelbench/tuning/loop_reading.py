"""What the loop does at one period: how strongly and how late it answers, and what it leaves of a disturbance.

Source:
[1] K. J. Åström, T. Hägglund, "PID Controllers: Theory, Design and Tuning" (1995), chapter 4.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelbench.quantity import Dimension, Figure, Units
from levelbench.tuning.loop import MARGINS, Margins
from levelbench.tuning.response import OpenLoop

D = Dimension
Floats = NDArray[np.float64]
POINTS = 600
_SLOWER, _FASTER = 30.0, 4.0  # times the slowest and the fastest period of interest that are shown beyond it


@dataclass(frozen=True)
class Sweep:
    """The open loop over a range of periods, from the slowest to the fastest.

    frequency [rad/s]; gain: |L|; phase in degrees, continuous; value: L itself, complex; all of one length.
    """

    frequency: Floats
    gain: Floats
    phase: Floats
    value: NDArray[np.complex128]

    @property
    def period(self) -> Floats:
        """The periods [s]."""
        return np.asarray(2 * math.pi / self.frequency)


def sweep(loop: OpenLoop, margins: Margins) -> Sweep:
    """Work the loop out over the periods about those at which it can cycle; the dead time is exact."""
    marks = [2 * math.pi / one.si for one in (margins.crossover, margins.ultimate_period)]
    marks = [one for one in marks if 0 < one < math.inf]
    frequency = np.geomspace(min(marks) / _SLOWER, max(marks) * _FASTER, POINTS)
    gain, phase = loop.gain(frequency), loop.phase(frequency)
    return Sweep(frequency, gain, np.degrees(phase), np.asarray(gain * np.exp(1j * phase)))


def reading(loop: OpenLoop, period: float, shown_in: Units) -> tuple[Figure, ...]:
    """Read the loop at a period [s]: gain, phase, the delay that this phase is, and what is left of a disturbance."""
    frequency = np.array([2 * math.pi / period])
    gain, phase = float(loop.gain(frequency)[0]), float(loop.phase(frequency)[0])
    at = (
        ("period", shown_in.show(period, D.TIME)),
        ("k'", shown_in.show(loop.slope, D.FLOW)),
        ("dead time", shown_in.show(loop.dead_time, D.TIME)),
        *((f"lag {number}", shown_in.show(lag, D.TIME)) for number, lag in enumerate(loop.lags, start=1)),
        ("K", shown_in.show(loop.settings.gain, D.GAIN)),
    )
    left = float(loop.sensitivity(frequency)[0])
    return (
        Figure("reading.gain", "gain of the loop |L|", gain, D.NUMBER, "|L(jω)|, ω = 2π/period", at, MARGINS),
        Figure("reading.phase", "phase of the loop, degrees", math.degrees(phase), D.NUMBER, "angle of L(jω)", at,
               MARGINS),
        Figure("reading.left", "left of a disturbance", left, D.PERCENT,
               "1/|1 + L(jω)|; above 100 % the loop makes it larger than it would be in manual", at, MARGINS),
    )  # fmt: skip
