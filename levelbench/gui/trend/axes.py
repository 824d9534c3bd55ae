"""The axes of the trend: a clock whose ticks fall on round seconds, minutes, hours and days, and a scale of values."""

from math import floor, log10

import pyqtgraph as pg

from levelbench.gui.trend.clock import clock
from levelbench.quantity import written

_STEPS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 10800, 21600, 43200, 86400)
_DAY = 86400
LABEL = 78  # px that a label of the clock may take
LINE = 19  # px between two labels of a scale at least


def clock_step(length: float, width: float) -> float:
    """Give the distance [s] of ticks over a span of time so that their labels stand apart on so many pixels."""
    least = length * LABEL / max(width, 1.0)
    return next((step for step in _STEPS if step >= least), _DAY * max(1.0, -(-least // _DAY)))


def clock_label(time: float, step: float) -> str:
    """Write a tick of the clock, no finer than its step; each label says in which parts it counts."""
    if step < _DAY / 4 and step >= 60:
        minutes = round(time / 60)
        if 0 < minutes < 60:
            return f"{minutes} min"
        return f"{minutes // 60} h {minutes % 60:02d}" if minutes % 60 else f"{minutes // 60} h"
    if step >= _DAY / 4:
        hours = round(time / 3600)
        return f"{hours // 24} d {hours % 24} h" if hours % 24 else f"{hours // 24} d"
    return clock(time, step < 1)


def scale_step(length: float, height: float) -> float:
    """Give 1, 2 or 5 times a power of ten for ticks over a range, so that their labels stand apart."""
    least = length / max(height / LINE, 1.0)
    if not least > 0:
        return 1.0
    power = 10.0 ** floor(log10(least))
    return next(power * factor for factor in (1, 2, 5, 10) if power * factor >= least * (1 - 1e-9))


def scale_label(value: float, step: float) -> str:
    """Write a tick of a scale with as many decimals as its step has; the minus sign is a true one."""
    places = max(0, -floor(log10(step) + 1e-9)) if step > 0 else 0
    label = written(value, f".{places}f")
    return label if label.strip("−0.,") else label.lstrip("−")


class ClockAxis(pg.AxisItem):  # type: ignore[misc]  # the library has no types
    """A time axis whose ticks fall on round seconds, minutes, hours or days."""

    def tickSpacing(self, minimum: float, maximum: float, size: float) -> list[tuple[float, float]]:  # noqa: N802
        """Give the distance of the ticks [s] so that their labels stand well apart."""
        return [(clock_step(maximum - minimum, size), 0)]

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:  # noqa: N802
        """Give the labels of the ticks."""
        return [clock_label(value * scale, spacing) for value in values]


class ValueAxis(pg.AxisItem):  # type: ignore[misc]  # the library has no types
    """A scale whose labels never touch; `unit` follows every label where no heading says it."""

    unit = ""

    def tickSpacing(self, minimum: float, maximum: float, size: float) -> list[tuple[float, float]]:  # noqa: N802
        """Give the distance of the ticks."""
        return [(scale_step(maximum - minimum, size), 0)]

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:  # noqa: N802
        """Give the labels of the ticks."""
        return [f"{scale_label(value * scale, spacing)} {self.unit}".rstrip() for value in values]
