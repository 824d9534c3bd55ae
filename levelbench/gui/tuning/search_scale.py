"""Where everything on the curve of a search lies: two panes over one scale of output travel, which is logarithmic."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF

from levelbench.drawing.ticks import log_ticks
from levelbench.gui.look.plot_paper import panes
from levelbench.quantity import in_unit, written

if TYPE_CHECKING:
    from levelbench.quantity import Figure, Units
    from levelbench.tuning.search import Candidate, Found

_LEAST = 1e-9  # [1/s] an output that never moves is drawn there


@dataclass(frozen=True)
class Pane:
    """One pane: where it lies [px], and the range of its values in the unit shown."""

    box: QRectF
    name: str
    key: str
    unit: str
    low: float
    high: float

    def y(self, value: float) -> float:
        """Give where a value lies [px]."""
        return self.box.bottom() - (value - self.low) / (self.high - self.low) * self.box.height()

    def value(self, one: Candidate) -> float:
        """Give a candidate's value in the unit shown."""
        figure = _figure(one, self.key)
        return in_unit(figure.si, figure.dimension, self.unit)


@dataclass(frozen=True)
class CurveScale:
    """The scales of an answer in a widget of a size [px]; `line` is the height of a line of text [px]."""

    found: Found
    units: Units
    size: tuple[float, float]
    line: float

    @property
    def front(self) -> tuple[Candidate, ...]:
        """The points of the curve."""
        return self.found.front

    @cached_property
    def shown(self) -> tuple[Candidate, ...]:
        """The front, and the present settings where they come to rest."""
        now = self.found.present
        return (*self.front, now) if math.isfinite(now.settling.si) else self.front

    @cached_property
    def panes(self) -> tuple[Pane, ...]:
        """Time to settle above, load deviation below; for a rig without a drain there is no load."""
        named = [("time to settle", "settling"), ("load deviation", "deviation")]
        if all(one.deviation.si == 0 for one in self.shown):
            del named[1]
        boxes = panes(self.size, self.line, len(named))
        return tuple(self._pane(box, *names) for box, names in zip(boxes, named, strict=True))

    @cached_property
    def travels(self) -> tuple[float, float]:
        """Both ends of the scale across, as powers of ten of the travel [1/s]."""
        every = [max(one.travel.si, _LEAST) for one in self.shown]
        low, high = math.log10(min(every)), math.log10(max(every))
        room = 0.06 * max(high - low, 0.1)
        return low - room, high + room

    @cached_property
    def marks(self) -> list[tuple[float, str]]:
        """Round values of travel within the scale [1/s], with their texts in %/s."""
        low, high = self.travels
        return [(one, written(100 * one, "g")) for one in log_ticks(10**low, 10**high)]

    def x(self, travel: float) -> float:
        """Give where a travel [1/s] lies [px]."""
        low, high = self.travels
        share = (math.log10(max(travel, _LEAST)) - low) / (high - low)
        return self.panes[0].box.left() + share * self.panes[0].box.width()

    def place(self, one: Candidate, pane: Pane) -> QPointF:
        """Give where a candidate lies in a pane [px]."""
        return QPointF(self.x(one.travel.si), pane.y(pane.value(one)))

    def _pane(self, box: QRectF, name: str, key: str) -> Pane:
        unit = self.units.of(_figure(self.front[0], key).dimension)
        values = [Pane(box, name, key, unit, 0.0, 1.0).value(one) for one in self.shown]
        low, high = min(values), max(values)
        room = 0.14 * (high - low) or 0.1 * abs(high) or 1.0
        return Pane(box, name, key, unit, low - room, high + room)


def _figure(one: Candidate, key: str) -> Figure:
    return one.settling if key == "settling" else one.deviation
