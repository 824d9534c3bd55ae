"""The trade-off of an alarm on its noise: a line for each dead band, through every on-delay; the front stands out.

A point is pressed, or walked to with the arrow keys: left and right change the on-delay, up and down the dead band.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFocusEvent, QFont, QFontMetricsF, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.bands.noise_scale import Lines, NoiseScale
from levelbench.gui.look import theme
from levelbench.quantity import in_marks, written

if TYPE_CHECKING:
    from levelbench.alarms.answer import Design
    from levelbench.alarms.grid import Place

_REACH = 24.0  # px from a point that still mean it
_POINT, _FRONT, _CHOSEN = 2.0, 4.0, 7.0  # px
_KEYS = {Qt.Key.Key_Left: (0, -1), Qt.Key.Key_Right: (0, 1), Qt.Key.Key_Up: (-1, 0), Qt.Key.Key_Down: (1, 0)}


class NoiseCurve(QWidget):
    """Draws the lines and lets a point be chosen."""

    chosen = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._found: Design | None = None
        self._lines: Lines | None = None
        self.at: Place | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(QSize(320, 190))
        self.setAccessibleName("trade-off: alarms of a slow crossing against seconds wrong")
        self.setToolTip("Press a point, or walk: ← → on-delay, ↑ ↓ dead band; Home is the proposed one")

    def sizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Give the size that it likes best."""
        return QSize(640, 300)

    def show_found(self, found: Design, at: Place) -> None:
        """Show an answer at the limit and the off-delay of a choice, which is chosen."""
        _, bands, ons, _ = found.grid.axes.shape
        self._found, self._lines = found, Lines(at[0], at[3], bands, ons)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self._choose(at)

    def choose(self, band: int, on: int) -> None:
        """Choose a point by dead band and on-delay, as when it is pressed."""
        if self._lines is not None:
            lines = self._lines
            self._choose(lines.at(min(max(band, 0), lines.bands - 1), min(max(on, 0), lines.ons - 1)))

    def _choose(self, at: Place) -> None:
        self.at = at
        assert self._found is not None
        axes, grid = self._found.grid.axes, self._found.grid
        self.setAccessibleDescription(
            f"dead band {axes.dead_bands[at[1]].shown}, on-delay {axes.ons[at[2]].shown}: "
            f"{written(grid.alarms(at), '.3g')} alarms, {written(grid.wrong(at), '.3g')} s wrong"
        )
        self.update()
        self.chosen.emit()

    @property
    def scale(self) -> NoiseScale | None:
        """Where everything lies now; None while there is no answer."""
        if self._found is None or self._lines is None:
            return None
        size = (float(self.width()), float(self.height()))
        return NoiseScale(self._found, self._lines, size, QFontMetricsF(_font()).height())

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802  Qt's name
        """Choose the point that is pressed."""
        scale = self.scale
        if scale is not None and event.button() is Qt.MouseButton.LeftButton:
            band, on, far = scale.nearest(event.position())
            if far <= _REACH:
                self.choose(band, on)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  Qt's name
        """Go from point to point."""
        key = Qt.Key(event.key())
        if self.at is not None and key in _KEYS:
            band, on = _KEYS[key]
            self.choose(self.at[1] + band, self.at[2] + on)
        elif self._found is not None and self._found.picked is not None and key is Qt.Key.Key_Home:
            self.choose(self._found.picked[1], self._found.picked[2])
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: N802  Qt's name
        """Show that the keys go here."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: N802  Qt's name
        """Show that they no longer do."""
        super().focusOutEvent(event)
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802  Qt's name
        """Paint paper, lines, front and names."""
        scale = self.scale
        if scale is None or self.at is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(_font())
        _paint_paper(painter, scale)
        _paint_lines(painter, scale)
        _paint_front(painter, scale, self.at)
        if self.hasFocus():
            painter.setPen(_pen(Role.WATER_LINE, 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5), 4, 4)


def _paint_paper(painter: QPainter, scale: NoiseScale) -> None:
    """Paint frame, scales and their titles."""
    metrics, box = QFontMetricsF(painter.font()), scale.box
    for value, words in scale.up:
        painter.setPen(_pen(Role.HAIRLINE, 1))
        painter.drawLine(QLineF(box.left(), scale.y(value), box.right(), scale.y(value)))
        painter.setPen(_pen(Role.QUIET, 1))
        left = box.left() - metrics.horizontalAdvance(words) - 5
        painter.drawText(QPointF(left, scale.y(value) + 0.35 * metrics.ascent()), words)
    for value, words in scale.across:
        painter.setPen(_pen(Role.HAIRLINE, 1))
        painter.drawLine(QLineF(scale.x(value), box.top(), scale.x(value), box.bottom()))
        painter.setPen(_pen(Role.QUIET, 1))
        left = scale.x(value) - metrics.horizontalAdvance(words) / 2
        painter.drawText(QPointF(left, box.bottom() + scale.line), words)
    painter.setPen(_pen(Role.HAIRLINE, 1))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(box)
    painter.setPen(_pen(Role.INK, 1))
    painter.drawText(QPointF(box.left(), box.top() - 0.4 * scale.line), "alarms of one slow crossing")
    key = "a line: a dead band · a point: an on-delay"
    painter.drawText(QPointF(box.right() - metrics.horizontalAdvance(key), box.top() - 0.4 * scale.line), key)
    title = "seconds wrong about each true excursion"
    under = box.bottom() + 2.2 * scale.line
    painter.drawText(QPointF(box.left() + (box.width() - metrics.horizontalAdvance(title)) / 2, under), title)


def _paint_lines(painter: QPainter, scale: NoiseScale) -> None:
    """Paint a line for each dead band with its name before it, and the on-delays along the topmost."""
    metrics = QFontMetricsF(painter.font())
    axes = scale.found.grid.axes
    last = -1e9
    for band, places in enumerate(scale.places):
        painter.setPen(_pen(Role.QUIET, 1))
        painter.drawPolyline(places)
        painter.setBrush(QColor(theme.current().colour(Role.QUIET)))
        for place in places:
            painter.drawEllipse(place, _POINT, _POINT)
        words = in_marks(axes.dead_bands[band].shown)
        wide, y = metrics.horizontalAdvance(words), places[0].y() + 0.35 * metrics.ascent()
        left = places[0].x() - wide - 8
        if abs(y - last) >= 0.95 * scale.line and left > scale.box.left() + 2:
            painter.drawText(QPointF(left, y), words)
            last = y
    right = -1e9
    for on, place in enumerate(scale.places[0]):
        words = in_marks(axes.ons[on].shown)
        wide = metrics.horizontalAdvance(words)
        if place.x() - wide / 2 > right + 6 and place.x() + wide / 2 < scale.box.right():
            painter.drawText(QPointF(place.x() - wide / 2, max(place.y() - 7, scale.box.top() + 12)), words)
            right = place.x() + wide / 2


def _paint_front(painter: QPainter, scale: NoiseScale, chosen: Place) -> None:
    """Paint the front, the chosen point full, and the proposed and the present one with their names."""
    found = scale.found
    water, ground = (QColor(theme.current().colour(one)) for one in (Role.WATER_LINE, Role.CARD))
    here = [scale.place(at) for at in found.front] if found.front and found.front[0][0] == scale.lines.limit else []
    painter.setPen(_pen(Role.WATER_LINE, 2))
    painter.drawPolyline(here)
    painter.setPen(_pen(Role.WATER_LINE, 1.6))
    painter.setBrush(ground)
    for place in here:
        painter.drawEllipse(place, _FRONT, _FRONT)
    painter.setBrush(water)
    painter.drawEllipse(scale.place(chosen), _CHOSEN, _CHOSEN)
    taken: list[QRectF] = []
    if found.present is not None:
        place = scale.place(found.present)
        painter.setPen(_pen(Role.INK, 1.8))
        for turn in (1, -1):
            painter.drawLine(QLineF(place.x() - 4, place.y() - 4 * turn, place.x() + 4, place.y() + 4 * turn))
        _name(painter, scale, place, "now", taken)
    if found.picked is not None:
        _name(painter, scale, scale.place(found.picked), "proposed", taken)


def _name(painter: QPainter, scale: NoiseScale, place: QPointF, words: str, taken: list[QRectF]) -> None:
    """Write a word under a point, above it where there is no room; farther where another one stands."""
    metrics = QFontMetricsF(painter.font())
    wide, tall = metrics.horizontalAdvance(words), metrics.height()
    x = min(max(place.x() - wide / 2, scale.box.left() + 2), scale.box.right() - wide - 2)
    under = place.y() + _CHOSEN + 2
    fits = under + (1 + len(taken)) * tall <= scale.box.bottom()
    room = QRectF(x, under if fits else place.y() - _CHOSEN - 4 - tall, wide, tall)
    while any(room.intersects(one) for one in taken):
        room.translate(0, tall if fits else -tall)
    taken.append(room)
    painter.setPen(_pen(Role.INK, 1))
    painter.drawText(QPointF(room.left(), room.bottom() - metrics.descent()), words)


def _font() -> QFont:
    font = QFont(theme.FAMILY)
    font.setPixelSize(theme.DRAWING)
    return font


def _pen(role: Role, width: float) -> QPen:
    return QPen(QColor(theme.current().colour(role)), width)
