"""The answer of the loop to a step of the set point and to a step of the load, as it is and as it would be.

What is stays as a broken line, what is tried comes over it as a full one, so that a drag shows the difference at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from levelbench.drawing.scene import Role
from levelbench.drawing.ticks import nice_ticks
from levelbench.gui.look import theme
from levelbench.gui.look.plot_paper import Pane, paint_up, painter_on
from levelbench.quantity import Dimension, in_unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from levelbench.tuning.prediction import Response

HEIGHT, POINTS = 104, 320  # px; most points of a line
_SAMPLE = 30.0  # px before each word of the key, with the line that it names


@dataclass(frozen=True)
class Curve:
    """PV and SP in a unit over the time since the step [s], thinned to what a small plot can show."""

    time: NDArray[np.float64]
    pv: NDArray[np.float64]
    set_point: NDArray[np.float64]


def curve(response: Response, unit: str) -> Curve:
    """Take the part of a run that is worth showing: a little before its step, and its answer."""
    lead = 0.04 * (response.until - response.at)
    recording = response.recording
    time = recording["time"]
    begin, end = np.searchsorted(time, (max(response.at - lead, 0.0), response.until))
    every = max(1, (int(end) - int(begin)) // POINTS)
    chosen = slice(int(begin), int(end), every)
    zero, one = in_unit(0.0, Dimension.VOLUME, unit), in_unit(1.0, Dimension.VOLUME, unit)
    pv, set_point = (zero + (one - zero) * recording[name][chosen] for name in ("pv", "set_point"))
    return Curve(time[chosen] - response.at, pv, set_point)


class ResponsePlot(QWidget):
    """One pane: what is, and over it what is tried."""

    def __init__(self, title: str) -> None:
        super().__init__()
        self._title = title
        self._unit = ""
        self._before: Curve | None = None
        self._after: Curve | None = None
        self.setFixedHeight(HEIGHT)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(f"plot: {title}, PV and SP as the model runs it")
        self.setToolTip(
            f"{title}: full line PV, broken line SP; while a value is tried, the dotted line is PV as it is"
        )

    @property
    def trying(self) -> bool:
        """Whether a tried line is shown over the one that is."""
        return self._after is not None

    def show_lines(self, before: Response, after: Response | None, unit: str) -> None:
        """Show what is, and what is tried if anything is."""
        self._unit = unit
        self._before = curve(before, unit)
        self._after = curve(after, unit) if after is not None else None
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802  Qt's name
        """Paint the pane."""
        if self._before is None:
            return
        painter = painter_on(self, theme.SMALL)
        shown = [one for one in (self._before, self._after) if one is not None]
        title = f"{self._title}, {self._unit}"
        metrics, size = QFontMetricsF(painter.font()), (self.width(), self.height())
        place = _Place.of(shown, metrics, size)
        if not place.has_beside(title):
            place = _Place.of(shown, metrics, size, over=2)
        _paint_paper(painter, place, title)
        newest = shown[-1]
        _line(painter, place, newest.time, newest.set_point, (Role.INK, 1.0, Qt.PenStyle.DashLine))
        if self._after is not None:
            _line(painter, place, self._before.time, self._before.pv, (Role.QUIET, 1.4, Qt.PenStyle.DotLine))
        _line(painter, place, newest.time, newest.pv, (Role.WATER_LINE, 1.8, Qt.PenStyle.SolidLine))
        _paint_key(painter, place, trying=self.trying)


@dataclass(frozen=True)
class _Place(Pane):
    """The pane, times [s] across, and the texts of its scales, which never touch."""

    seconds: list[tuple[float, str]]
    marks: list[tuple[float, str]]
    clock: str  # the unit of the texts across
    over: int  # lines of text over the pane: the title and the key beside it, or under it
    metrics: QFontMetricsF

    @classmethod
    def of(cls, shown: Sequence[Curve], metrics: QFontMetricsF, size: tuple[int, int], over: int = 1) -> _Place:
        every = np.concatenate([part for one in shown for part in (one.pv, one.set_point)])
        low, high = float(every.min()), float(every.max())
        room = max(0.08 * (high - low), 0.002 * abs(high), 1e-9)
        times = (min(float(one.time[0]) for one in shown), max(float(one.time[-1]) for one in shown))
        line = metrics.height()
        tall = size[1] - (1.6 + over) * line
        up = nice_ticks(low - room, high + room, max(2, int(tall / (1.7 * line))))
        left = max(metrics.horizontalAdvance(words) for _, words in up) + 8
        box = QRectF(left, (0.2 + over) * line, size[0] - left - 6, tall)
        clock, each = ("min", 60.0) if times[1] >= 180 else ("s", 1.0)
        widest = metrics.horizontalAdvance(f"0000.0 {clock}")
        across = nice_ticks(times[0] / each, times[1] / each, max(2, int(box.width() / widest)))
        scaled = [(value * each, words) for value, words in across]
        return cls(box, times, (low - room, high + room), scaled, up, clock, over, metrics)

    def has_beside(self, title: str) -> bool:
        """Tell whether the key has room beside a title; also while nothing is tried, so that a drag moves nothing."""
        key = sum(self.metrics.horizontalAdvance(words) + _SAMPLE for words, _ in _looks(trying=True))
        return self.metrics.horizontalAdvance(title) + key <= self.box.width()


def _paint_paper(painter: QPainter, place: _Place, title: str) -> None:
    """Paint frame, scales and title."""
    box, metrics = place.box, place.metrics
    paint_up(painter, box, [(place.y(value), words) for value, words in place.marks])
    for number, (time, words) in enumerate(place.seconds):
        last = number == len(place.seconds) - 1
        shown = f"{words} {place.clock}" if last else words
        wide = metrics.horizontalAdvance(shown)
        x = min(place.x(time) - wide / 2, box.right() - wide + 4)
        painter.setPen(theme.pen(Role.HAIRLINE))
        painter.drawLine(QLineF(place.x(time), box.top(), place.x(time), box.bottom()))
        painter.setPen(theme.pen(Role.QUIET))
        painter.drawText(QPointF(x, box.bottom() + metrics.height()), shown)
    painter.setPen(theme.pen(Role.QUIET))
    painter.drawText(QPointF(box.left(), metrics.ascent()), title)
    painter.setPen(theme.pen(Role.HAIRLINE))
    painter.drawRect(box)


def _line(
    painter: QPainter,
    place: _Place,
    time: NDArray[np.float64],
    values: NDArray[np.float64],
    look: tuple[Role, float, Qt.PenStyle],
) -> None:
    painter.setPen(theme.pen(*look))
    points = [place.at(t, v) for t, v in zip(time.tolist(), values.tolist(), strict=True)]
    painter.drawPolyline(QPolygonF(points))


def _looks(*, trying: bool) -> list[tuple[str, tuple[Role, float, Qt.PenStyle]]]:
    """Give the words of the key, and how the line of each looks."""
    looks = [("PV", (Role.WATER_LINE, 1.8, Qt.PenStyle.SolidLine)), ("SP", (Role.INK, 1.0, Qt.PenStyle.DashLine))]
    if trying:
        looks[0] = ("PV tried", looks[0][1])
        looks.insert(1, ("PV now", (Role.QUIET, 1.4, Qt.PenStyle.DotLine)))
    return looks


def _paint_key(painter: QPainter, place: _Place, *, trying: bool) -> None:
    """Say at the top right which line is which."""
    x, y = place.box.right(), (place.over - 1) * place.metrics.height() + place.metrics.ascent()
    for words, look in reversed(_looks(trying=trying)):
        x -= place.metrics.horizontalAdvance(words)
        painter.setPen(theme.pen(Role.QUIET))
        painter.drawText(QPointF(x, y), words)
        painter.setPen(theme.pen(*look))
        painter.drawLine(QLineF(x - 20, y - 3.5, x - 4, y - 3.5))
        x -= _SAMPLE
