"""The linear look at a candidate, long before it is simulated: its largest sensitivity in every corner of the box.

Dead time is exact, as in `tuning.response`; the frequencies are a grid of our own, coarse enough for thousands of
candidates. What is found in the end is looked at again by `raw_margins`.
"""

import math
from collections.abc import Iterable

import numpy as np

from levelbench.tuning.response import OpenLoop

_FREQUENCIES = 160
_ROOM = 12.0  # the grid goes so far beyond the slowest and the fastest that the loop knows


def sensitivity(loop: OpenLoop) -> float:
    """Give Ms on the grid: infinite when the loop does not come to rest (Bode: phase at the last crossover)."""
    one, delay = loop.settings, max(loop.dead_time + sum(loop.lags), 1e-6)
    crossover = loop.slope * one.gain
    slow = min(crossover, 1 / delay, math.sqrt(crossover / one.integral_time) or math.inf)
    grid = np.geomspace(slow / _ROOM, max(crossover, 1 / delay) * _ROOM, _FREQUENCIES)
    gain, phase = loop.gain(grid), loop.phase(grid)
    above = np.flatnonzero(gain > 1)
    if above.size:
        last = int(above[-1])
        if last + 1 >= grid.size or phase[last] <= -math.pi or phase[last + 1] <= -math.pi:
            return math.inf
    return float(np.max(1 / np.abs(1 + gain * np.exp(1j * phase))))


def worst_sensitivity(loops: Iterable[OpenLoop], most: float) -> float:
    """Give the largest Ms of several loops; as soon as one is above `most`, that one."""
    worst = 0.0
    for loop in loops:
        worst = max(worst, sensitivity(loop))
        if worst > most:
            break
    return worst
