"""The open loop as a frequency response, its dead time exact: no approximation of e^(−θs) anywhere.

Loop gain      L(s) = k·C(s)·e^(−θs)/((s + p)·Π(τs + 1))        p = 0: integrating; p = 1/T: first order, gain k·T
Controller     C(s) = K·(1 + 1/(Ti·s) + Td·s/(1 + Td/N·s))

The process is stable or integrates once, so the loop is stable just when L, where its gain is above 1, turns past −180°
(or −540° …) as often one way as the other (Nyquist). Where the gain falls steadily, as it does for most, that is: when
the phase at the gain crossover is above −180°.

Sources:
[1] K. J. Åström, T. Hägglund, "PID Controllers: Theory, Design and Tuning" (1995), chapter 4: margins, Ms.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq, minimize_scalar

from levelbench.rig.settings import Settings

Floats = NDArray[np.float64]

_GRID = 4000  # frequencies looked at before a crossing is refined


@dataclass(frozen=True)
class OpenLoop:
    """An integrating process with dead time and lags, and its controller; with a pole, one of first order.

    slope: k, volume rate per output [m3/s]; dead_time θ [s]; lags τ [s]; derivative_filter N, infinite for none;
    pole: p, 1/T of a first-order process [1/s], whose slope is its gain by T.
    """

    slope: float
    dead_time: float
    lags: tuple[float, ...]
    settings: Settings
    derivative_filter: float = math.inf
    pole: float = 0.0

    def gain(self, frequency: Floats) -> Floats:
        """Give |L| at angular frequencies [rad/s]."""
        lagged = np.prod([np.hypot(1.0, frequency * lag) for lag in self.lags], axis=0) if self.lags else 1.0
        return np.asarray(self.slope * np.abs(self._controller(frequency)) / (np.hypot(frequency, self.pole) * lagged))

    def phase(self, frequency: Floats) -> Floats:
        """Give the phase of L, continuous from the lowest frequency up [rad], at angular frequencies [rad/s]."""
        lagging = sum((np.arctan(frequency * lag) for lag in self.lags), start=np.zeros_like(frequency))
        # the controller's real part is positive, so its angle never wraps
        own = np.angle(self._controller(frequency)) - np.arctan2(frequency, self.pole)
        return np.asarray(own - frequency * self.dead_time - lagging)

    def sensitivity(self, frequency: Floats) -> Floats:
        """Give |1/(1 + L)| at angular frequencies [rad/s]."""
        return np.asarray(1 / np.abs(1 + self.gain(frequency) * np.exp(1j * self.phase(frequency))))

    def _controller(self, frequency: Floats) -> NDArray[np.complex128]:
        s = 1j * frequency
        one = self.settings
        derivative = one.derivative_time * s / (1 + one.derivative_time / self.derivative_filter * s)
        return np.asarray(one.gain * (1 + 1 / one.integral_time / s + derivative))


@dataclass(frozen=True)
class RawMargins:
    """Robustness of a loop as plain numbers.

    gain: by which factor the gain may rise before the loop cycles, 0 when none holds it; lowest_gain: below which
    factor it cycles, 0 when there is none; phase [rad], infinite when the gain is below 1 everywhere, minus infinite
    when it never falls below 1; crossover: angular frequency of unit gain [rad/s]; sensitivity: Ms, infinite when the
    loop is unstable.
    """

    gain: float
    lowest_gain: float
    phase: float
    crossover: float
    sensitivity: float

    @property
    def stable(self) -> bool:
        """Whether the loop comes to rest."""
        return self.phase > 0.0


def raw_margins(loop: OpenLoop) -> RawMargins:
    """Compute the margins of a loop that has some dead time or lag [1]."""
    grid = _frequencies(loop)
    phase, crossover = _phase_margin(loop, grid)
    above = loop.phase(grid) > -math.pi
    falls = np.flatnonzero(above[:-1] & ~above[1:])
    rises = np.flatnonzero(~above[:-1] & above[1:])
    highest = _highest_gain(loop, grid, int(falls[-1])) if falls.size else 0.0
    lowest = 1 / _gain_at_half_turn(loop, grid, int(rises[0])) if rises.size else 0.0
    return RawMargins(highest, lowest, phase, crossover, _peak(loop, grid) if phase > 0 else math.inf)


def _phase_margin(loop: OpenLoop, grid: Floats) -> tuple[float, float]:
    """Give the least phase margin [rad] and where it is [rad/s]; it is negative when the loop is unstable."""
    over = loop.gain(grid) > 1.0
    if over[-1]:
        return -math.inf, float(grid[-1])
    at = np.flatnonzero(over[:-1] != over[1:])
    if not at.size:
        return math.inf, float(grid[0])
    found = [_root(lambda w: math.log(_one(loop.gain, w)), float(grid[one]), float(grid[one + 1])) for one in at]
    beyond = [math.pi + _one(loop.phase, crossover) for crossover in found]
    if len(found) == 1:
        return beyond[0], found[0]
    turns = [math.floor(one / (2 * math.pi)) for one in beyond]
    past = sum(turns[-1::-2]) - sum(turns[-2::-2])  # falls of the gain end a stretch above 1, rises begin one
    margins = [(one % (2 * math.pi), crossover) for one, crossover in zip(beyond, found, strict=True)]
    least = min(margins)
    return least if past == 0 else (min(least[0] - 2 * math.pi, beyond[-1]), least[1])


def _highest_gain(loop: OpenLoop, grid: Floats, at: int) -> float:
    """Give the gain margin from the last fall through −180° on; a later turn counts where the gain rises again."""
    margin = 1 / _gain_at_half_turn(loop, grid, at)
    beyond = loop.gain(grid[at + 1 :])
    if beyond.size and float(beyond.max()) * margin > 1.0:
        turns = -np.floor((loop.phase(grid[at + 1 :]) + math.pi) / (2 * math.pi))
        for step in np.flatnonzero(np.diff(turns) == 1.0):
            low, high = float(grid[at + 1 + step]), float(grid[at + 2 + step])
            margin = min(margin, 1 / _gain_at_turn(loop, float(turns[step]), low, high))
    return margin


def ultimate(slope: float, dead_time: float, lags: tuple[float, ...], pole: float = 0.0) -> tuple[float, float]:
    """Give the ultimate gain [1/m3] and period [s] of the process under proportional action alone.

    slope [m3/s], dead_time [s], lags [s], pole [1/s]. With dead time only: Ku = π/(2·k·θ), Pu = 4·θ [1].

    >>> ku, pu = ultimate(1.0, 2.0, ())
    >>> round(ku, 6), round(pu, 6)
    (0.785398, 8.0)
    """
    loop = OpenLoop(slope, dead_time, lags, Settings(1.0, math.inf, 0.0), pole=pole)
    total = dead_time + sum(lags)
    half_turn = _root(lambda w: _one(loop.phase, w) + math.pi, 1e-3 / total, 1e4 / total)
    return 1 / _one(loop.gain, half_turn), 2 * math.pi / half_turn


def _frequencies(loop: OpenLoop) -> Floats:
    """Give a grid that surely holds the gain crossover and every crossing of −180° [rad/s]."""
    delay = loop.dead_time + sum(loop.lags)
    one = loop.settings
    fastest = one.gain * loop.slope * (1 + min(loop.derivative_filter, 1e3 * one.derivative_time / delay))
    times = [time for time in (one.integral_time, one.derivative_time) if 0 < time < math.inf]
    slow = min(one.gain * loop.slope, math.sqrt(one.gain * loop.slope / one.integral_time) or math.inf, 1 / delay)
    if loop.pole:
        times.append(1 / loop.pole)
        slow = min(slow, one.gain * loop.slope / (loop.pole * one.integral_time) or math.inf)
    return np.geomspace(1e-3 * min([slow, *(1 / time for time in times)]), 1e2 * max(fastest, 10 / delay), _GRID)


def _peak(loop: OpenLoop, grid: Floats) -> float:
    """Give the largest |1/(1 + L)|."""
    at = int(np.argmax(loop.sensitivity(grid)))
    low, high = math.log(grid[max(at - 1, 0)]), math.log(grid[min(at + 1, grid.size - 1)])
    best = minimize_scalar(
        lambda w: -_one(loop.sensitivity, math.exp(w)), bounds=(low, high), method="bounded", options={"xatol": 1e-10}
    )
    return float(-best.fun)


def _gain_at_half_turn(loop: OpenLoop, grid: Floats, at: int) -> float:
    return _gain_at_turn(loop, 0.0, float(grid[at]), float(grid[at + 1]))


def _gain_at_turn(loop: OpenLoop, turns: float, low: float, high: float) -> float:
    """Give the gain where the phase passes −180° and so many whole turns, between two frequencies [rad/s]."""
    level = math.pi * (2 * turns + 1)
    return _one(loop.gain, _root(lambda w: _one(loop.phase, w) + level, low, high))


def _root(function: Callable[[float], float], low: float, high: float) -> float:
    """Find where a function of a frequency changes its sign [rad/s]."""
    return math.exp(float(brentq(lambda x: function(math.exp(x)), math.log(low), math.log(high), xtol=1e-13)))


def _one(function: Callable[[Floats], Floats], frequency: float) -> float:
    return float(function(np.array(frequency)))
