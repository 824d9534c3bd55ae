"""The trade-off of an alarm on its noise: a line for each dead band, through every on-delay; the front stands out.

A point is pressed, or walked to with the arrow keys: left and right change the on-delay, up and down the dead band.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter

from levelbench.alarms.grid import Place
from levelbench.drawing.scene import Role
from levelbench.gui.bands.noise_scale import Lines, NoiseScale
from levelbench.gui.look import theme
from levelbench.gui.look.plot_paper import Words, paint_across, paint_cross, paint_frame, paint_up
from levelbench.gui.look.walked import WalkedPlot
from levelbench.quantity import in_marks, written

if TYPE_CHECKING:
    from collections.abc import Iterable

    from levelbench.alarms.answer import Design

_POINT, _FRONT, _CHOSEN, _CROSS = 2.0, 4.0, 7.0, 4.0  # px
_KEYS = {Qt.Key.Key_Left: (0, -1), Qt.Key.Key_Right: (0, 1), Qt.Key.Key_Up: (-1, 0), Qt.Key.Key_Down: (1, 0)}
_KEY = "a line: a dead band · a point: an on-delay"
_UP, _ACROSS = "alarms of one slow crossing", "seconds wrong about each true excursion"


class NoiseCurve(WalkedPlot[Place]):
    """Draws the lines and lets a point be chosen."""

    def __init__(self) -> None:
        super().__init__(
            "trade-off: alarms of a slow crossing against seconds wrong",
            "Press a point, or walk: ← → on-delay, ↑ ↓ dead band; Home is the proposed one",
            (190, 300),
        )
        self._found: Design | None = None
        self._lines: Lines | None = None

    def show_found(self, found: Design, at: Place) -> None:
        """Show an answer at the limit and the off-delay of a choice, which is chosen."""
        _, bands, ons, _ = found.grid.axes.shape
        self._found, self._lines = found, Lines(at[0], at[3], bands, ons)
        self.begin(at)

    @property
    def scale(self) -> NoiseScale | None:
        """Where everything lies now; None while there is no answer."""
        if self._found is None or self._lines is None:
            return None
        line = QFontMetricsF(theme.font(theme.DRAWING)).height()
        return NoiseScale(self._found, self._lines, (float(self.width()), float(self.height())), line)

    def points(self) -> Iterable[tuple[Place, QPointF]]:
        """Give every dead band with every on-delay, and where it lies [px]."""
        scale = self.scale
        every = [] if scale is None else scale.lines.every
        return [(at, scale.place(at)) for at in every if scale is not None]

    def beside(self, at: Place, key: Qt.Key) -> Place | None:
        """Give the next on-delay or dead band that there is; with Home what is proposed, on these lines."""
        lines, found = self._lines, self._found
        if lines is None or found is None:
            return None
        if key in _KEYS:
            band, on = _KEYS[key]
            return lines.at(min(max(at[1] + band, 0), lines.bands - 1), min(max(at[2] + on, 0), lines.ons - 1))
        return lines.at(*found.picked[1:3]) if found.picked is not None and key is Qt.Key.Key_Home else None

    def said(self, at: Place) -> str:
        """Say dead band and on-delay, and both that are traded."""
        assert self._found is not None
        grid = self._found.grid
        return (
            f"dead band {grid.axes.dead_bands[at[1]].shown}, on-delay {grid.axes.ons[at[2]].shown}: "
            f"{written(grid.alarms(at), '.3g')} alarms, {written(grid.wrong(at), '.3g')} s wrong"
        )

    def paint(self, painter: QPainter) -> None:
        """Paint paper, lines, front and names."""
        scale = self.scale
        if scale is None or self.at is None:
            return
        _paint_paper(painter, scale)
        words = Words(painter, scale.box)
        _paint_lines(painter, scale, words)
        _paint_front(painter, scale, self.at)
        _paint_names(painter, scale, self.at, words)


def _paint_paper(painter: QPainter, scale: NoiseScale) -> None:
    """Paint frame, scales and their titles."""
    metrics, box = QFontMetricsF(painter.font()), scale.box
    paint_up(painter, box, [(scale.y(value), words) for value, words in scale.up])
    paint_across(painter, box, [(scale.x(value), words) for value, words in scale.across])
    paint_frame(painter, box, _UP)
    key = box.right() - metrics.horizontalAdvance(_KEY)
    if (
        key > box.left() + metrics.horizontalAdvance(_UP) + scale.line
    ):  # in a narrow room the lines speak for themselves
        painter.drawText(QPointF(key, box.top() - 0.4 * scale.line), _KEY)
    left = box.left() + (box.width() - metrics.horizontalAdvance(_ACROSS)) / 2
    painter.drawText(QPointF(left, box.bottom() + 2.2 * scale.line), _ACROSS)


def _paint_lines(painter: QPainter, scale: NoiseScale, words: Words) -> None:
    """Paint a line for each dead band with its name before it, and the on-delays along the topmost."""
    metrics, axes = QFontMetricsF(painter.font()), scale.found.grid.axes
    painter.setPen(theme.pen(Role.QUIET))
    painter.setBrush(theme.colour(Role.QUIET))
    last = -math.inf
    for band, places in enumerate(scale.places):
        painter.drawPolyline(places)
        for place in places:
            painter.drawEllipse(place, _POINT, _POINT)
        name = in_marks(axes.dead_bands[band].shown)
        at = QPointF(places[0].x() - metrics.horizontalAdvance(name) - 8, places[0].y() + 0.35 * metrics.ascent())
        if abs(at.y() - last) >= 0.95 * scale.line and words.write(at, name):
            last = at.y()
    for on, place in enumerate(scale.places[0]):
        name = in_marks(axes.ons[on].shown)
        left = place.x() - metrics.horizontalAdvance(name) / 2
        words.write(QPointF(left, max(place.y() - 7, scale.box.top() + 12)), name, gap=6)


def _paint_front(painter: QPainter, scale: NoiseScale, chosen: Place) -> None:
    """Paint the front, and the chosen point full."""
    front = scale.found.front
    here = [scale.place(at) for at in front] if front and front[0][0] == scale.lines.limit else []
    painter.setPen(theme.pen(Role.WATER_LINE, 2))
    painter.drawPolyline(here)
    painter.setPen(theme.pen(Role.WATER_LINE, 1.6))
    painter.setBrush(theme.colour(Role.CARD))
    for place in here:
        painter.drawEllipse(place, _FRONT, _FRONT)
    painter.setBrush(theme.colour(Role.WATER_LINE))
    painter.drawEllipse(scale.place(chosen), _CHOSEN, _CHOSEN)


def _paint_names(painter: QPainter, scale: NoiseScale, chosen: Place, words: Words) -> None:
    """Mark what is now, and name it and what is proposed."""
    found = scale.found
    words.keep(scale.place(chosen), _CHOSEN)
    for places in scale.places:
        words.spare(places, _POINT)
    named = [("now", found.present, _CROSS), ("proposed", found.picked, _CHOSEN)]
    marks = [(name, scale.place(at), reach) for name, at, reach in named if at is not None]
    for _, place, reach in marks:
        words.keep(place, reach)
    if found.present is not None:
        paint_cross(painter, scale.place(found.present), _CROSS)
    painter.setPen(theme.pen(Role.INK))
    for name, place, reach in marks:
        words.name(place, reach, name)
