"""The curve of a search: each point is a set of settings that nothing beats, the busiest right, the calmest left.

A point is pressed, or walked to with the arrow keys.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFocusEvent, QFont, QFontMetricsF, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from levelbench.drawing.scene import Role
from levelbench.drawing.ticks import nice_ticks
from levelbench.gui.look import theme
from levelbench.gui.tuning.search_scale import LEFT, RIGHT, CurveScale, Pane

if TYPE_CHECKING:
    from levelbench.quantity import Units
    from levelbench.tuning.search import Found

_REACH = 24.0  # px from a point that still mean it
_POINT, _CHOSEN = 4.0, 7.0  # px
_KEYS = {Qt.Key.Key_Left: 1, Qt.Key.Key_Down: 1, Qt.Key.Key_Right: -1, Qt.Key.Key_Up: -1}


class SearchCurve(QWidget):
    """Draws the curve and lets a point be chosen."""

    chosen = Signal(int)  # index in the front

    def __init__(self) -> None:
        super().__init__()
        self._found: Found | None = None
        self._units: Units | None = None
        self.at = -1
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(QSize(320, 170))
        self.setAccessibleName("curve of the settings found, speed against calm")
        self.setToolTip("Press a point, or walk along with the arrow keys; Home is the fastest, End the calmest")

    def sizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Give the size that it likes best."""
        return QSize(640, 280)

    def show_found(self, found: Found | None, shown_in: Units) -> None:
        """Show an answer, the proposed point chosen; None: nothing."""
        self._found, self._units = found, shown_in
        self.at = -1
        self.setCursor(Qt.CursorShape.PointingHandCursor if found and found.front else Qt.CursorShape.ArrowCursor)
        if found is not None and found.picked is not None:
            self.choose(found.picked)
        self.update()

    def choose(self, at: int) -> None:
        """Choose a point, as when it is pressed."""
        if self._found is None or not self._found.front:
            return
        at = min(max(at, 0), len(self._found.front) - 1)
        if at != self.at:
            self.at = at
            settings = ", ".join(text for _, text in self._found.front[at].words)
            words = f"{at + 1} of {len(self._found.front)}, from the fastest to the calmest: {settings}"
            self.setAccessibleDescription(words)
            self.chosen.emit(at)
            self.update()

    @property
    def scale(self) -> CurveScale | None:
        """Where everything lies now; None while there is no curve."""
        if self._found is None or self._units is None or not self._found.front:
            return None
        size = (float(self.width()), float(self.height()))
        return CurveScale(self._found, self._units, size, QFontMetricsF(_font()).height())

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802  Qt's name
        """Choose the point that is pressed."""
        scale = self.scale
        if scale is not None and event.button() is Qt.MouseButton.LeftButton:
            at, far = scale.nearest(event.position())
            if far <= _REACH:
                self.choose(at)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  Qt's name
        """Go along the curve."""
        key = Qt.Key(event.key())
        if key in _KEYS:
            self.choose(self.at + _KEYS[key])
        elif key is Qt.Key.Key_Home:
            self.choose(0)
        elif key is Qt.Key.Key_End:
            self.choose(len(self._found.front) - 1 if self._found else 0)
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
        """Paint the panes."""
        scale = self.scale
        if scale is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(_font())
        for pane in scale.panes:
            _paint_paper(painter, scale, pane)
            _paint_points(painter, scale, pane, self.at)
        _paint_foot(painter, scale)
        if self.hasFocus():
            painter.setPen(_pen(Role.WATER_LINE, 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5), 4, 4)


def _paint_paper(painter: QPainter, scale: CurveScale, pane: Pane) -> None:
    """Paint title, frame and scales of one pane."""
    metrics, box = QFontMetricsF(painter.font()), pane.box
    for value, words in nice_ticks(pane.low, pane.high, max(2, int(box.height() / (1.6 * scale.line)))):
        painter.setPen(_pen(Role.HAIRLINE, 1))
        painter.drawLine(QLineF(box.left(), pane.y(value), box.right(), pane.y(value)))
        painter.setPen(_pen(Role.QUIET, 1))
        wide = metrics.horizontalAdvance(words)
        painter.drawText(QPointF(box.left() - wide - 5, pane.y(value) + 0.35 * metrics.ascent()), words)
    painter.setPen(_pen(Role.HAIRLINE, 1))
    for travel, _words in scale.marks:
        painter.drawLine(QLineF(scale.x(travel), box.top(), scale.x(travel), box.bottom()))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(box)
    painter.setPen(_pen(Role.INK, 1))
    painter.drawText(QPointF(box.left(), box.top() - 0.4 * scale.line), f"{pane.name} in the worst corner, {pane.unit}")


def _paint_points(painter: QPainter, scale: CurveScale, pane: Pane, chosen: int) -> None:
    """Paint the curve: its points, the chosen one full, the proposed one and the present settings with their names."""
    places = [scale.place(one, pane) for one in scale.front]
    water, ground = (QColor(theme.current().colour(one)) for one in (Role.WATER_LINE, Role.CARD))
    painter.setPen(_pen(Role.WATER_LINE, 1.2))
    painter.drawPolyline(places)
    painter.setPen(_pen(Role.WATER_LINE, 1.6))
    for at, place in enumerate(places):
        painter.setBrush(water if at == chosen else ground)
        size = _CHOSEN if at == chosen else _POINT
        painter.drawEllipse(place, size, size)
    if scale.found.picked is not None:
        _name(painter, pane, places[scale.found.picked], "proposed")
    now = scale.found.present
    if any(one is now for one in scale.shown):
        place = scale.place(now, pane)
        painter.setPen(_pen(Role.INK, 1.8))
        for turn in (1, -1):
            painter.drawLine(QLineF(place.x() - 4, place.y() - 4 * turn, place.x() + 4, place.y() + 4 * turn))
        _name(painter, pane, place, "now", below=True)


def _name(painter: QPainter, pane: Pane, place: QPointF, words: str, *, below: bool = False) -> None:
    """Write a word above or below a point, within the pane."""
    metrics = QFontMetricsF(painter.font())
    wide = metrics.horizontalAdvance(words)
    x = min(max(place.x() - wide / 2, pane.box.left() + 2), pane.box.right() - wide - 2)
    y = place.y() + (metrics.ascent() + 7 if below else -_CHOSEN - 4)
    painter.setPen(_pen(Role.INK, 1))
    painter.drawText(QPointF(x, min(max(y, pane.box.top() + metrics.ascent()), pane.box.bottom() - 3)), words)


def _paint_foot(painter: QPainter, scale: CurveScale) -> None:
    """Paint the scale of the travel, and which way is which."""
    metrics, bottom = QFontMetricsF(painter.font()), scale.panes[-1].box.bottom()
    painter.setPen(_pen(Role.QUIET, 1))
    for travel, words in scale.marks:
        left = scale.x(travel) - metrics.horizontalAdvance(words) / 2
        painter.drawText(QPointF(left, bottom + scale.line), words)
    under, wide = bottom + 2.2 * scale.line, scale.size[0] - LEFT - RIGHT
    title, fast = "output travel in the worst corner, %/s", "busier, faster →"
    painter.drawText(QPointF(LEFT + (wide - metrics.horizontalAdvance(title)) / 2, under), title)
    painter.setPen(_pen(Role.INK, 1))
    painter.drawText(QPointF(LEFT, under), "← calmer")
    painter.drawText(QPointF(LEFT + wide - metrics.horizontalAdvance(fast), under), fast)


def _font() -> QFont:
    font = QFont(theme.FAMILY)
    font.setPixelSize(theme.DRAWING)
    return font


def _pen(role: Role, width: float) -> QPen:
    return QPen(QColor(theme.current().colour(role)), width)
