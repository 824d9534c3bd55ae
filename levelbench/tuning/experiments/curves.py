"""Straight lines and step responses read as a technician reads them off a chart, with their scatter.

Two slopes      an integrating process changes its slope by k'·Δu; where both lines meet, less the step, is the delay
Two points      a self-regulating one reaches 28.3 % and 63.2 % of its rise: T = 1.5·(t₂ − t₁), L = t₂ − T
Area            mean residence time T + L = A₀/K, T = e·A₁/K, A₁ the area up to then

Sources:
[1] C. L. Smith, Digital Computer Process Control (1972): two points (quoted from memory).
[2] K. J. Åström, T. Hägglund, PID Controllers: Theory, Design and Tuning (1995), section 2.4: areas.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import trapezoid

from levelbench.tuning.experiments.errors import ExperimentError
from levelbench.tuning.process import FirstOrder

Floats = NDArray[np.float64]
TWO_SLOPES = "two slopes and where they meet; definition of k' and of the delay of a ramp"
TWO_POINTS = "C. L. Smith, Digital Computer Process Control (1972), two points (quoted from memory)"
AREA = "K. J. Åström, T. Hägglund, PID Controllers: Theory, Design and Tuning (1995), section 2.4"
FEWEST = 5  # samples of a line, and at least between two jumps
_NOUGHT = 0.05  # of the span of the output: less is no jump


@dataclass(frozen=True)
class Line:
    """A straight line through samples: value [PV] at time `at` [s], slope [PV/s]."""

    at: float
    value: float
    slope: float

    def __call__(self, time: float) -> float:
        """Give the value at a time [s]."""
        return self.value + self.slope * (time - self.at)

    def meets(self, other: "Line") -> float:
        """Give when two lines meet [s]; no number when they are parallel."""
        steeper = self.slope - other.slope
        return (other(0.0) - self(0.0)) / steeper if steeper else math.nan


def line_through(time: Floats, values: Floats) -> Line:
    """Give the line of least squares; raises ExperimentError for too few samples."""
    if len(time) < FEWEST:
        raise ExperimentError(
            f"A stretch has {len(time)} samples, {FEWEST} at least make a line.",
            "the record",
            "Let each stretch last longer, or record more often.",
        )
    middle = float(np.mean(time))
    away = time - middle
    return Line(middle, float(np.mean(values)), float(np.dot(away, values) / np.dot(away, away)))


@dataclass(frozen=True)
class Corner:
    """What one jump of the output tells: when [s], by how much [1], the lines before and after."""

    at: float
    jump: float
    before: Line
    after: Line

    @property
    def slope(self) -> float:
        """k' [PV/s per 1]: the change of slope by the jump."""
        return (self.after.slope - self.before.slope) / self.jump

    @property
    def delay(self) -> float:
        """From the jump to where the lines meet [s]."""
        return self.before.meets(self.after) - self.at


def corners(time: Floats, pv: Floats, output: Floats, settled: float = 0.5, until: float = 1.0) -> tuple[Corner, ...]:
    """Read every jump of an output that holds in between; lines through each stretch from `settled` to `until` of it.

    The PV goes on as before until the delay is over, so the end of a stretch belongs to its own output alone. Where the
    PV itself makes the output jump, noise chooses the moment and bends the end: leave some of it out (`until`). Changes
    close together, as of an output that is let go at a rate only, are one jump at their middle.
    """
    groups, begun = _jumps(output), 0
    if groups and groups[0][0] < FEWEST:  # the output was still on its way when the record began
        begun = int(groups[0][-1])
        groups = groups[1:]
    ends = [begun, *(edge for group in groups for edge in (int(group[0]), int(group[-1]))), len(time)]
    lines = []
    for begin, end in zip(ends[::2], ends[1::2], strict=True):
        first, last = begin + int(settled * (end - begin)), begin + math.ceil(until * (end - begin))
        lines.append(line_through(time[first:last], pv[first:last]))
    found = []
    for at, group in enumerate(groups):
        parts = output[group] - output[group - 1]
        jump = float(np.sum(parts))
        found.append(Corner(float(np.dot(parts, time[group])) / jump, jump, lines[at], lines[at + 1]))
    return tuple(found)


def _jumps(output: Floats) -> list[NDArray[np.int64]]:
    """Give the samples at which the output changes, those of one jump together, those that change nothing left out."""
    changes = np.flatnonzero(np.diff(output)) + 1
    if not len(changes):
        return []
    apart = np.flatnonzero(np.diff(changes) > FEWEST) + 1
    size = float(np.ptp(output))
    groups = [np.asarray(one, dtype=np.int64) for one in np.split(changes, apart)]
    return [one for one in groups if abs(output[one[-1]] - output[one[0] - 1]) > _NOUGHT * size]


def two_points(time: Floats, rise: Floats, at: float, jump: float) -> FirstOrder:
    """Read a self-regulating process from its step response [1].

    rise: PV less its rest before [PV], with its rest after in the last tenth; at: when the output jumped [s]; jump [1].
    Raises ExperimentError when there is no rise.
    """
    rest = _rest(rise)
    share = rise / rest
    first, second = (_crosses(time, share, level) - at for level in (1 - math.exp(-1 / 3), 1 - math.exp(-1)))
    constant = 1.5 * (second - first)
    return FirstOrder(rest / jump, constant, second - constant)


def by_areas(time: Floats, rise: Floats, at: float, jump: float) -> FirstOrder:
    """Read a self-regulating process from the areas of its step response [2]; arguments and errors as `two_points`."""
    rest = _rest(rise)
    since = time >= at
    seconds, share = time[since] - at, rise[since] / rest
    residence = float(trapezoid(1 - share, seconds))
    until = np.append(seconds[seconds < residence], residence)
    area = float(trapezoid(np.interp(until, seconds, share), until))
    constant = math.e * area
    return FirstOrder(rest / jump, constant, residence - constant)


def _rest(rise: Floats) -> float:
    rest = float(np.mean(rise[-max(len(rise) // 10, 1) :]))
    if not abs(rest) > 0:
        raise ExperimentError("The PV ends where it began.", "the record", "Make the step larger, or wait for longer.")
    return rest


def _crosses(time: Floats, share: Floats, level: float) -> float:
    """Give when a share is reached, between the first sample beyond and the last one short of it: noise goes both ways.

    Straight between samples.
    """
    beyond = share >= level
    if not beyond.any() or beyond.all():
        raise ExperimentError(
            "The record doesn't hold the whole response to the step.", "the record", "Begin before it, and wait longer."
        )
    first = int(np.argmax(beyond))
    last = len(share) - 1 - int(np.argmax(~beyond[::-1]))
    up = np.interp(level, share[first - 1 : first + 1], time[first - 1 : first + 1]) if first else time[0]
    down = np.interp(level, share[last : last + 2], time[last : last + 2])
    return float(up + down) / 2
