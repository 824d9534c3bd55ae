"""The paper of plots that are painted by hand: panes with their scales, and words beside points that never meet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter

from levelbench.drawing.scene import Role
from levelbench.gui.look import theme

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from PySide6.QtWidgets import QWidget

LEFT, RIGHT = 64.0, 2.0 * theme.GRID  # px beside a pane
_OVER, _UNDER = 1.7, 2.8  # lines of text over each pane, and under the last one
_AIR = 2.0  # px between a mark and its name


@dataclass(frozen=True)
class Pane:
    """A box [px] and the values at its edges, from the left and from below."""

    box: QRectF
    across: tuple[float, float]
    up: tuple[float, float]

    def x(self, value: float) -> float:
        """Give where a value across lies [px]."""
        low, high = self.across
        return self.box.left() + (value - low) / (high - low) * self.box.width()

    def y(self, value: float) -> float:
        """Give where a value up lies [px]."""
        low, high = self.up
        return self.box.bottom() - (value - low) / (high - low) * self.box.height()

    def at(self, across: float, up: float) -> QPointF:
        """Give where a point lies."""
        return QPointF(self.x(across), self.y(up))


def painter_on(widget: QWidget, size: int) -> QPainter:
    """Begin to paint on a widget, smooth and in one of the sizes of type [px]."""
    painter = QPainter(widget)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setFont(theme.font(size))
    return painter


def panes(size: tuple[float, float], line: float, count: int = 1) -> list[QRectF]:
    """Give the boxes [px] of panes one over another in a widget of a size; `line` is the height of a line of text."""
    over = _OVER * line
    tall = (size[1] - _UNDER * line - count * over) / count
    return [QRectF(LEFT, over + at * (tall + over), size[0] - LEFT - RIGHT, tall) for at in range(count)]


def paint_up(painter: QPainter, box: QRectF, marks: Iterable[tuple[float, str]]) -> None:
    """Paint the scale up a pane: a hairline at each height [px], its words at the left."""
    metrics = QFontMetricsF(painter.font())
    for y, words in marks:
        painter.setPen(theme.pen(Role.HAIRLINE))
        painter.drawLine(QLineF(box.left(), y, box.right(), y))
        painter.setPen(theme.pen(Role.QUIET))
        painter.drawText(QPointF(box.left() - metrics.horizontalAdvance(words) - 5, y + 0.35 * metrics.ascent()), words)


def paint_across(painter: QPainter, box: QRectF, marks: Iterable[tuple[float, str]], *, said: bool = True) -> None:
    """Paint the scale across a pane: a hairline at each place [px], maybe with its words under it."""
    metrics = QFontMetricsF(painter.font())
    for x, words in marks:
        painter.setPen(theme.pen(Role.HAIRLINE))
        painter.drawLine(QLineF(x, box.top(), x, box.bottom()))
        if said:
            painter.setPen(theme.pen(Role.QUIET))
            left = x - metrics.horizontalAdvance(words) / 2
            painter.drawText(QPointF(left, box.bottom() + metrics.height()), words)


def paint_frame(painter: QPainter, box: QRectF, title: str) -> None:
    """Paint the frame of a pane, and over it what it shows."""
    painter.setPen(theme.pen(Role.HAIRLINE))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(box)
    painter.setPen(theme.pen(Role.INK))
    painter.drawText(QPointF(box.left(), box.top() - 0.4 * QFontMetricsF(painter.font()).height()), title)


def fitting(words: str, room: float, metrics: QFontMetricsF) -> str:
    """Give as many words as there is room for [px], with "…" for those that are left out."""
    whole = words.split(" ")
    while len(whole) > 1 and metrics.horizontalAdvance(words) > room:
        whole.pop()
        words = f"{' '.join(whole)} …"
    return metrics.elidedText(words, Qt.TextElideMode.ElideRight, room)


def paint_cross(painter: QPainter, place: QPointF, reach: float) -> None:
    """Paint the mark of what is now."""
    painter.setPen(theme.pen(Role.INK, 1.8))
    for turn in (reach, -reach):
        painter.drawLine(QLineF(place.x() - reach, place.y() - turn, place.x() + reach, place.y() + turn))


class Words:
    """Writes words into a pane, none over another."""

    def __init__(self, painter: QPainter, box: QRectF) -> None:
        self._painter, self._box = painter, box
        self._metrics = QFontMetricsF(painter.font())
        self._taken: list[QRectF] = []
        self._spared: list[QRectF] = []

    def write(self, at: QPointF, words: str, gap: float = 0.0) -> bool:
        """Write words that begin at a place, unless they leave the pane or come within `gap` [px] of others."""
        room = self._room(at.x(), at.y(), words)
        may = self._free(room.adjusted(-gap, 0, gap, 0)) and self._box.contains(room)
        if may:
            self._put(room, words)
        return may

    def keep(self, place: QPointF, reach: float) -> None:
        """Keep a mark free of the names that are still to come."""
        self._taken.append(_about(place, reach))

    def spare(self, places: Iterable[QPointF], reach: float) -> None:
        """Keep points free of the names that are still to come, where there is other room."""
        self._spared += [_about(one, reach) for one in places]

    def name(self, place: QPointF, reach: float, words: str, *, above: bool = False) -> None:
        """Write the name of a mark that was kept free: under it or above it, else in the nearest free room."""
        rooms = [room for room in self._around(place, reach, words, above=above) if self._free(room)]
        near = [one for one in rooms if abs(one.center().y() - place.y()) < reach + 1.5 * self._metrics.height()]
        clear = (one for one in near if not any(one.intersects(point) for point in self._spared))
        if rooms:
            self._put(next(clear, rooms[0]), words)

    def _around(self, place: QPointF, reach: float, words: str, *, above: bool) -> Iterator[QRectF]:
        """Give the rooms in the pane about a mark, nearest first."""
        wide, tall, box = self._metrics.horizontalAdvance(words), self._metrics.height(), self._box
        lefts = (place.x() - wide / 2, place.x() + reach + _AIR, place.x() - reach - _AIR - wide)
        for step in range(int(box.height() / tall) + 1):
            down, up = place.y() + reach + _AIR + step * tall, place.y() - reach - _AIR - (step + 1) * tall
            places = [(lefts[0], up), (lefts[0], down)] if above else [(lefts[0], down), (lefts[0], up)]
            places += [(left, top) for left in lefts[1:] for top in (down, up)]
            if step == 0:
                places += [(left, place.y() - tall / 2) for left in lefts[1:]]
            for left, top in places:
                within = min(max(left, box.left() + _AIR), box.right() - wide - _AIR)
                room = self._room(within, top + self._metrics.ascent(), words)
                if box.contains(room):
                    yield room

    def _room(self, left: float, base: float, words: str) -> QRectF:
        """Give the box of words that begin at the left on a base line, as high as their letters."""
        letters = self._metrics.tightBoundingRect(words)
        return QRectF(left, base + letters.top(), self._metrics.horizontalAdvance(words), letters.height())

    def _free(self, room: QRectF) -> bool:
        return not any(room.intersects(one) for one in self._taken)

    def _put(self, room: QRectF, words: str) -> None:
        self._taken.append(room)
        base = room.top() - self._metrics.tightBoundingRect(words).top()
        self._painter.drawText(QPointF(room.left(), base), words)


def _about(place: QPointF, reach: float) -> QRectF:
    return QRectF(place.x() - reach, place.y() - reach, 2 * reach, 2 * reach)
