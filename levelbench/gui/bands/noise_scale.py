"""Where all of an alarm's trade-off lies: seconds wrong across, alarms of a crossing up, both logarithmic."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF

from levelbench.drawing.ticks import log_ticks
from levelbench.gui.look.plot_paper import panes
from levelbench.quantity import written

if TYPE_CHECKING:
    from levelbench.alarms.answer import Design
    from levelbench.alarms.grid import Place

_FINER = (1.0, 1.1, 1.2, 1.3, 1.5, 1.7, 2.0, 2.5, 3.0, 4.0, 5.0, 7.0)
_FEW = 2  # marks that are not enough
_LEAST = 1e-3  # less is drawn there


@dataclass(frozen=True)
class Lines:
    """What is drawn of a grid: one line for each dead band through every on-delay, at a limit and an off-delay."""

    limit: int
    off: int
    bands: int
    ons: int

    def at(self, band: int, on: int) -> Place:
        """Give a place in the grid."""
        return self.limit, band, on, self.off

    @property
    def every(self) -> list[Place]:
        """All of them."""
        return [self.at(band, on) for band in range(self.bands) for on in range(self.ons)]


@dataclass(frozen=True)
class NoiseScale:
    """The scales of an answer in a widget of a size [px]; `line` is the height of a line of text [px]."""

    found: Design
    lines: Lines
    size: tuple[float, float]
    line: float

    @cached_property
    def box(self) -> QRectF:
        """The pane [px]."""
        return panes(self.size, self.line)[0]

    @cached_property
    def places(self) -> list[list[QPointF]]:
        """Where each choice lies [px], by dead band and on-delay."""
        return [
            [self.place(self.lines.at(band, on)) for on in range(self.lines.ons)] for band in range(self.lines.bands)
        ]

    def place(self, at: Place) -> QPointF:
        """Give where a choice lies [px]."""
        return QPointF(self.x(self.found.grid.wrong(at)), self.y(self.found.grid.alarms(at)))

    @cached_property
    def _reach(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Both scales from end to end, as powers of ten."""
        every = [*self.lines.every, *(one for one in (self.found.present, self.found.picked) if one is not None)]
        across = [_log(self.found.grid.wrong(at)) for at in every if math.isfinite(self.found.grid.wrong(at))]
        up = [_log(self.found.grid.alarms(at)) for at in every]
        low, high = min(-0.04, *up), max(up)
        return _roomy(across, 0.05, 0.3), (low - max(0.12 * (high - low), 0.1), high + max(0.12 * (high - low), 0.12))

    def x(self, seconds: float) -> float:
        """Give where a time wrong [s] lies [px]."""
        low, high = self._reach[0]
        return self.box.left() + (min(_log(seconds), high) - low) / (high - low) * self.box.width()

    def y(self, alarms: float) -> float:
        """Give where a number of alarms lies [px]."""
        low, high = self._reach[1]
        return self.box.bottom() - (_log(alarms) - low) / (high - low) * self.box.height()

    @cached_property
    def across(self) -> list[tuple[float, str]]:
        """Round values of seconds within the scale, with their texts."""
        return _marks(self._reach[0])

    @cached_property
    def up(self) -> list[tuple[float, str]]:
        """Round values of alarms within the scale, with their texts."""
        return [one for one in _marks(self._reach[1]) if one[0] >= 1.0]


def _log(value: float) -> float:
    return math.log10(max(value, _LEAST)) if math.isfinite(value) else math.log10(1e9)


def _roomy(values: list[float], share: float, least: float) -> tuple[float, float]:
    """Give both ends with some room beside them."""
    low, high = min(values, default=0.0), max(values, default=1.0)
    room = max(share * (high - low), 0.02)
    spare = max(least - (high - low), 0.0) / 2
    return low - room - spare - 0.1, high + room + spare


def _marks(reach: tuple[float, float]) -> list[tuple[float, str]]:
    """Give round values within a scale with their texts; finer ones where there would be hardly any."""
    low, high = (10**one for one in reach)
    found = log_ticks(low, high)
    if len(found) <= _FEW:
        found = log_ticks(low, high, _FINER)
    return [(value, written(value, "g")) for value in found]
