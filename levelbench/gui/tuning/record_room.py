"""The wide place of a record: the record with the fit over it, what the fit leaves over, and what was found."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, QSize
from PySide6.QtGui import QFontMetricsF, QPaintEvent
from PySide6.QtWidgets import QFrame, QSizePolicy, QVBoxLayout, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.look import theme
from levelbench.gui.look.plot_paper import paint_up, painter_on
from levelbench.gui.look.theme import GRID
from levelbench.gui.tuning.fit_table import FitTable
from levelbench.gui.tuning.record_lines import RecordLine, RecordPane
from levelbench.quantity import in_unit

if TYPE_CHECKING:
    from levelbench.gui.tuning.record_view import RecordView
    from levelbench.quantity import Figure, Units
    from levelbench.records.measured import Measured
    from levelbench.tuning.identify.result import Fit

_HEIGHT = 84  # px


class LeftOver(QWidget):
    """A strip under the record, on its axis of time: measured less model."""

    def __init__(self, view: RecordView) -> None:
        super().__init__()
        self._view = view
        self._line: RecordLine | None = None
        self._unit = ""
        self.setFixedHeight(_HEIGHT)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("plot of what the fit leaves over")
        self.setToolTip("PV measured less PV of the model; best when it is noise about zero, with nothing of a shape")
        view.times_changed.connect(self.update)

    def sizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Give the size that suits it."""
        return QSize(320, _HEIGHT)

    def show_left(self, fit: Fit, factor: float, unit: str) -> None:
        """Show what a fit leaves over; `factor` turns its values into `unit`; what was left out makes a hole."""
        values = np.where(fit.used, fit.residuals, np.nan) * factor
        self._line, self._unit = RecordLine("left over", fit.time, values), unit
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802  Qt's name
        """Paint the strip."""
        picture = self._view.picture
        if self._line is None or picture is None:
            return
        painter = painter_on(self, theme.SMALL)
        metrics = QFontMetricsF(painter.font())
        above = picture.boxes[0]
        box = QRectF(above.left(), 1.3 * metrics.height(), above.width(), _HEIGHT - 1.8 * metrics.height())
        pane = RecordPane.around([self._line], self._view.times, box, metrics.height())
        paint_up(painter, box, [(pane.y(value), words) for value, words in pane.marks])
        if any(value == 0 for value, _ in pane.marks):
            painter.setPen(theme.pen(Role.QUIET))
            painter.drawLine(QLineF(box.left(), pane.y(0.0), box.right(), pane.y(0.0)))
        painter.setPen(theme.pen(Role.HAIRLINE))
        painter.drawRect(box)
        painter.setClipRect(box)
        painter.setPen(theme.pen(Role.INK, 1.0))
        for part in pane.polygons(self._line):
            painter.drawPolyline(part)
        painter.setClipping(False)
        painter.setPen(theme.pen(Role.QUIET))
        painter.drawText(QPointF(box.left(), 0.95 * metrics.height()), f"left over: measured less model, {self._unit}")


class RecordRoom(QFrame):
    """The record above; once something is fitted, what it leaves over and what was found below."""

    def __init__(self, view: RecordView) -> None:
        super().__init__()
        self.setProperty("role", "card")
        self.view, self.left, self.table = view, LeftOver(view), FitTable()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(GRID, GRID, GRID, GRID)
        layout.setSpacing(GRID)
        layout.addWidget(view, 5)
        layout.addWidget(self.left)
        layout.addWidget(self.table, 4)
        self.hide_fit()

    def show_fit(self, fit: Fit, measured: Measured, shown_in: Units, foretold: Figure | None) -> None:
        """Lay a fit over the record, and say what was found."""
        dimension = measured.pv_dimension
        factor = 1.0 if dimension is None else in_unit(1.0, dimension, measured.pv_unit)
        self.view.show_fit(fit.time, fit.simulated)
        self.left.show_left(fit, factor, measured.pv_unit or "no unit")
        self.table.show_fit(fit, shown_in, measured.pv_unit, foretold)
        self.left.show()
        self.table.show()

    def hide_fit(self) -> None:
        """Show the record alone."""
        self.view.hide_fit()
        self.left.hide()
        self.table.hide()
