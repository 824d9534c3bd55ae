"""The curve of a search: each point is a set of settings that nothing beats, the busiest right, the calmest left.

A point is pressed, or walked to with the arrow keys.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter

from levelbench.drawing.scene import Role
from levelbench.drawing.ticks import nice_ticks
from levelbench.gui.look import theme
from levelbench.gui.look.plot_paper import Words, paint_across, paint_cross, paint_frame, paint_up
from levelbench.gui.look.walked import WalkedPlot
from levelbench.gui.tuning.search_scale import CurveScale, Pane

if TYPE_CHECKING:
    from collections.abc import Iterable

    from levelbench.quantity import Units
    from levelbench.tuning.search import Found

_POINT, _CHOSEN, _CROSS = 4.0, 7.0, 4.0  # px
_KEYS = {Qt.Key.Key_Left: 1, Qt.Key.Key_Down: 1, Qt.Key.Key_Right: -1, Qt.Key.Key_Up: -1}
_ENDS = {Qt.Key.Key_Home: 0, Qt.Key.Key_End: -1}
_ACROSS, _CALM, _FAST = "output travel in the worst corner, %/s", "← calmer", "busier, faster →"


class SearchCurve(WalkedPlot[int]):
    """Draws the curve and lets a point be chosen, which is known by its place in the front."""

    def __init__(self) -> None:
        super().__init__(
            "curve of the settings found, speed against calm",
            "Press a point, or walk along with the arrow keys; Home is the fastest, End the calmest",
            (170, 280),
        )
        self._found: Found | None = None
        self._units: Units | None = None

    def show_found(self, found: Found, shown_in: Units) -> None:
        """Show an answer, the proposed point chosen."""
        self._found, self._units = found, shown_in
        self.begin(found.picked if found.front else None)

    @property
    def scale(self) -> CurveScale | None:
        """Where everything lies now; None while there is no curve."""
        if self._found is None or self._units is None or not self._found.front:
            return None
        line = QFontMetricsF(theme.font(theme.DRAWING)).height()
        return CurveScale(self._found, self._units, (float(self.width()), float(self.height())), line)

    def points(self) -> Iterable[tuple[int, QPointF]]:
        """Give every point of the front, once in each pane."""
        scale = self.scale
        panes = () if scale is None else scale.panes
        return [
            (at, scale.place(one, pane)) for pane in panes if scale is not None for at, one in enumerate(scale.front)
        ]

    def beside(self, at: int, key: Qt.Key) -> int | None:
        """Give the next along the curve, or one of its ends."""
        last = len(self._found.front) - 1 if self._found is not None else 0
        if key in _ENDS:
            return _ENDS[key] % (last + 1)
        return min(max(at + _KEYS[key], 0), last) if key in _KEYS else None

    def said(self, at: int) -> str:
        """Say the settings of a point, and where on the curve it is."""
        assert self._found is not None
        front = self._found.front
        settings = ", ".join(text for _, text in front[at].words)
        return f"{at + 1} of {len(front)}, from the fastest to the calmest: {settings}"

    def paint(self, painter: QPainter) -> None:
        """Paint the panes."""
        scale = self.scale
        if scale is None or self.at is None:
            return
        last = scale.panes[-1]
        for pane in scale.panes:
            _paint_paper(painter, scale, pane, said=pane is last)
            _paint_points(painter, scale, pane, self.at)
            _paint_names(painter, scale, pane, self.at)
        _paint_foot(painter, scale)


def _paint_paper(painter: QPainter, scale: CurveScale, pane: Pane, *, said: bool) -> None:
    """Paint title, frame and scales of one pane; `said`: with words under it."""
    marks = nice_ticks(pane.low, pane.high, max(2, int(pane.box.height() / (1.6 * scale.line))))
    paint_up(painter, pane.box, [(pane.y(value), words) for value, words in marks])
    paint_across(painter, pane.box, [(scale.x(travel), words) for travel, words in scale.marks], said=said)
    paint_frame(painter, pane.box, f"{pane.name} in the worst corner, {pane.unit}")


def _paint_points(painter: QPainter, scale: CurveScale, pane: Pane, chosen: int) -> None:
    """Paint the curve with its points, the chosen one full."""
    places = [scale.place(one, pane) for one in scale.front]
    painter.setPen(theme.pen(Role.WATER_LINE, 1.2))
    painter.drawPolyline(places)
    painter.setPen(theme.pen(Role.WATER_LINE, 1.6))
    for at, place in enumerate(places):
        painter.setBrush(theme.colour(Role.WATER_LINE if at == chosen else Role.CARD))
        size = _CHOSEN if at == chosen else _POINT
        painter.drawEllipse(place, size, size)


def _paint_names(painter: QPainter, scale: CurveScale, pane: Pane, chosen: int) -> None:
    """Mark the present settings, where they come to rest, and name them and the proposed ones."""
    now, words = scale.found.present, Words(painter, pane.box)
    words.keep(scale.place(scale.front[chosen], pane), _CHOSEN)
    words.spare((scale.place(one, pane) for one in scale.front), _POINT)
    marks = []
    if scale.found.pick is not None:
        marks.append(("proposed", scale.place(scale.found.pick, pane), _CHOSEN))
    if any(one is now for one in scale.shown):
        marks.append(("now", scale.place(now, pane), _CROSS))
        paint_cross(painter, marks[-1][1], _CROSS)
    for _, place, reach in marks:
        words.keep(place, reach)
    painter.setPen(theme.pen(Role.INK))
    for name, place, reach in marks:
        words.name(place, reach, name, above=name == "proposed")


def _paint_foot(painter: QPainter, scale: CurveScale) -> None:
    """Say what the scale across is, and which way is which."""
    metrics, box = QFontMetricsF(painter.font()), scale.panes[-1].box
    under = box.bottom() + 2.2 * scale.line
    painter.setPen(theme.pen(Role.QUIET))
    left = box.left() + (box.width() - metrics.horizontalAdvance(_ACROSS)) / 2
    painter.drawText(QPointF(left, under), _ACROSS)
    calm, fast = metrics.horizontalAdvance(_CALM), metrics.horizontalAdvance(_FAST)
    if max(calm, fast) + 4 < left - box.left():  # in a narrow room the scale alone says it
        painter.setPen(theme.pen(Role.INK))
        painter.drawText(QPointF(box.left(), under), _CALM)
        painter.drawText(QPointF(box.right() - fast, under), _FAST)
