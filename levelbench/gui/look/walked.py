"""A plot of points, one of which is chosen: pressed, or walked to with the keys, which a ring about the plot shows."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Generic, TypeVar

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.look import theme
from levelbench.gui.look.plot_paper import painter_on

if TYPE_CHECKING:
    from collections.abc import Iterable

At = TypeVar("At")  # by what a plot knows its points
_REACH = 24.0  # px from a point that still mean it
_WIDE = (400, 640)  # px: at least, for the longest word of an axis, and best


class WalkedPlot(QWidget, Generic[At]):
    """What every such plot does; which points there are, how they are painted and said is its own."""

    chosen = Signal()  # `at` is another point

    def __init__(self, name: str, tip: str, heights: tuple[int, int]) -> None:
        super().__init__()
        self.at: At | None = None
        self._best = QSize(_WIDE[1], heights[1])
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(QSize(_WIDE[0], heights[0]))
        self.setAccessibleName(name)
        self.setToolTip(tip)

    def sizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Give the size that it likes best."""
        return self._best

    def points(self) -> Iterable[tuple[At, QPointF]]:
        """Give every point with where it lies [px]."""
        raise NotImplementedError

    def beside(self, at: At, key: Qt.Key) -> At | None:
        """Give the point that a key leads to from another; None: the key is not for this plot."""
        raise NotImplementedError

    def said(self, at: At) -> str:
        """Say a point to those who don't see it."""
        raise NotImplementedError

    def paint(self, painter: QPainter) -> None:
        """Paint the plot."""
        raise NotImplementedError

    def begin(self, at: At | None) -> None:
        """Show other points, one of them chosen; None: there are none."""
        self.at = None
        self.setCursor(Qt.CursorShape.ArrowCursor if at is None else Qt.CursorShape.PointingHandCursor)
        if at is not None:
            self.choose(at)
        self.update()

    def choose(self, at: At) -> None:
        """Choose a point, as when it is pressed."""
        if at != self.at:
            self.at = at
            self.setAccessibleDescription(self.said(at))
            self.update()
            self.chosen.emit()

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802  Qt's name
        """Choose the point that is pressed."""
        if self.at is not None and event.button() is Qt.MouseButton.LeftButton:
            where = event.position()
            far = ((math.hypot(one.x() - where.x(), one.y() - where.y()), at) for at, one in self.points())
            nearest, at = min(far, key=lambda pair: pair[0])
            if nearest <= _REACH:
                self.choose(at)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  Qt's name
        """Go from point to point."""
        to = None if self.at is None else self.beside(self.at, Qt.Key(event.key()))
        if to is None:
            super().keyPressEvent(event)
        else:
            self.choose(to)

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: N802  Qt's name
        """Show that the keys go here."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: N802  Qt's name
        """Show that they no longer do."""
        super().focusOutEvent(event)
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802  Qt's name
        """Paint the plot, and the ring while the keys go here."""
        if self.at is None:
            return
        painter = painter_on(self, theme.DRAWING)
        self.paint(painter)
        if self.hasFocus():
            painter.setPen(theme.pen(Role.WATER_LINE))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5), 4, 4)
