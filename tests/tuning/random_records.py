"""Records of processes that are known, made without the program: an exact simulation step by step, and noise."""

import math
from dataclasses import dataclass

import numpy as np

from levelbench.records.measured import Measured


@dataclass
class Known:
    """A record and what made it."""

    measured: Measured
    truth: dict[str, float]


def record(time, pv, output, unit="V", **more):
    """Put columns together as a record in a unit of its own."""
    columns = {"set_point": None, "draw": None, "pv_dimension": None, "name": "a record"} | more
    return Measured(np.asarray(time, float), np.asarray(pv, float), np.asarray(output, float), pv_unit=unit, **columns)


@dataclass
class Rig:
    """gain·e^(−θs)/(Ts + 1), or gain·e^(−θs)/s without a time constant; `constant` goes in beside the output."""

    gain: float
    dead_time: float
    time_constant: float = 0.0
    constant: float = 0.0

    def run(self, time, output, begin=0.0):
        """Give PV at each stamp for an output that is known (an array), or that follows from each PV (a function)."""
        given = callable(output)
        held = np.zeros(len(time)) if given else output
        pv = np.zeros(len(time))
        state = begin
        for i in range(len(time)):
            if i:
                state = self._between(state, time[i - 1], time[i], time[:i], held)
            pv[i] = state
            if given:
                held[i], pv[i] = output(i, state)
        return pv, held

    def _between(self, state, begin, end, stamps, held):
        at, last = begin - self.dead_time, end - self.dead_time
        place = int(np.searchsorted(stamps, at, side="right")) - 1
        while at < last - 1e-12:
            until = min(last, stamps[place + 1]) if place + 1 < len(stamps) else last
            u, lasts = held[max(place, 0)], until - at
            if self.time_constant:
                fades = math.exp(-lasts / self.time_constant)
                state = fades * state + (1 - fades) * (self.gain * u + self.constant)
            else:
                state += lasts * (self.gain * u + self.constant)
            at, place = until, place + 1
        return state


def random_record(seed, *, bends):
    """Make up a rig, an experiment in open or closed loop, even or uneven stamps, white or coloured noise."""
    rng = np.random.default_rng(seed)
    n, step = int(rng.integers(200, 900)), 10 ** rng.uniform(-0.5, 1)
    uneven, white, closed = rng.random() < 0.35, rng.random() < 0.4, rng.random() < 0.4
    time = step * np.arange(n)
    if uneven:
        time = time + rng.uniform(-0.4, 0.4, n) * step
        time = np.sort(rng.choice(time - time[0], int(0.85 * n), replace=False))
        n = len(time)
    time = time - time[0]
    constant = float(time[-1] * 10 ** rng.uniform(-1.7, -0.7))
    size = float(10 ** rng.uniform(-1, 1) * rng.choice([-1, 1]))
    reach = 0.2 * abs(size)
    dead_time = float(min(rng.uniform(0.3, 12) * step, time[-1] / 15))
    beside = float(rng.normal() * 0.3 * size)
    rig = Rig(size, dead_time, constant, beside) if bends else Rig(size / constant, dead_time, 0.0, beside / time[-1])
    noise = _noise(rng, time, 0.0 if white else step * rng.uniform(1, 15)) * reach * 10 ** rng.uniform(-2, -0.9)
    if closed:
        pv, output = rig.run(time, _controller(rng, rig, (constant, reach), noise, time))
    else:
        output = _bumps(rng, n)
        pv = rig.run(time, output)[0] + noise
    truth = {"fit.dead_time": dead_time}
    if bends:
        truth |= {"fit.gain": rig.gain, "fit.time_constant": constant, "fit.rest": beside}
    else:
        truth |= {"fit.slope": rig.gain, "fit.flow": rig.constant}
    return Known(record(time, pv, output), truth)


def _noise(rng, time, memory):
    """Make noise of size 1 that remembers for `memory` [s]."""
    new = rng.normal(size=len(time))
    if not memory:
        return new
    noise = new.copy()
    for i in range(1, len(time)):
        keeps = math.exp(-(time[i] - time[i - 1]) / memory)
        noise[i] = keeps * noise[i - 1] + math.sqrt(1 - keeps**2) * new[i]
    return noise


def _bumps(rng, n):
    output, sign = np.zeros(n), 1
    for at in np.sort(rng.choice(np.arange(int(0.05 * n), int(0.85 * n)), int(rng.integers(2, 8)), replace=False)):
        output[at:] = 0.2 * sign * rng.uniform(0.5, 1)
        sign = -sign
    return output


def _controller(rng, rig, sizes, noise, time):
    """Make a PI controller with five steps of its set point, which sees the noise."""
    constant, reach = sizes
    n, wait = len(time), rig.dead_time + float(np.median(np.diff(time)))
    gain = 0.35 * (constant if rig.time_constant else 1.0) / (rig.gain * wait)
    integral = constant if rig.time_constant else 8 * wait
    set_point = np.zeros(n)
    for at in range(1, 6):
        set_point[at * n // 6 :] = rng.normal() * reach
    kept = [0.0]

    def output(i, state):
        seen = state + noise[i]
        error = set_point[i] - seen
        given = gain * error + kept[0]
        if i + 1 < n:
            kept[0] += gain / integral * error * (time[i + 1] - time[i])
        return given, seen

    return output
