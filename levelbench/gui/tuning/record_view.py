"""A record in the wide place: PV with set point over the output, on one axis of time; a fit can be laid over it.

The wheel zooms around the pointer, a drag moves along, a double click or Home shows all again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPaintEvent, QWheelEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.look import theme
from levelbench.gui.look.plot_paper import painter_on
from levelbench.gui.tuning.record_lines import RecordLine
from levelbench.gui.tuning.record_paint import RecordPaint, clock, title
from levelbench.quantity import in_unit

if TYPE_CHECKING:
    from levelbench.records import Measured

_NOTHING = """Choose a record on the right, or drop its file here.

A table of text will do, for example:
time [s],  level [in],  output [%]
0.0,  6.14,  24.2
0.5,  6.15,  24.6"""
_ZOOM = 1.25
_KEYS = "Wheel or + and −: zoom · drag or arrow keys: move along · double click or Home: all"


class RecordView(QWidget):
    """Draws a record, and what was fitted to it."""

    times_changed = Signal()  # another stretch is shown

    def __init__(self) -> None:
        super().__init__()
        self._record: Measured | None = None
        self._upper: list[RecordLine] = []
        self._lower: list[RecordLine] = []
        self._gaps: NDArray[np.float64] = np.zeros((0, 2))
        self.times = (0.0, 1.0)  # shown now [s]
        self._held: float | None = None  # time under the pointer when it was pressed
        self._pointed: float | None = None  # px
        self._words = _NOTHING
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(QSize(320, 240))
        self.setAccessibleName("plot of the record")
        self.setToolTip(_KEYS)

    def show_words(self, words: str) -> None:
        """Show some words in place of a record."""
        self._record, self._upper, self._lower = None, [], []
        self._words = words or _NOTHING
        self.setAccessibleDescription(self._words)
        self.setToolTip(_KEYS)
        self.update()

    def show_record(self, record: Measured) -> None:
        """Show a record, all of it."""
        self._record = record
        gaps = self._gaps = record.gaps()
        self._upper = [RecordLine("PV", record.time, self._shown(record.pv)).broken(gaps)]
        if record.set_point is not None:
            self._upper.append(
                RecordLine("SP", record.time, self._shown(record.set_point), held=True, dashed=True).broken(gaps)
            )
        self._lower = [RecordLine("OP", record.time, 100.0 * record.output, held=True).broken(gaps)]
        span = f"{len(record)} samples over {clock(record.lasts)}"
        self.setAccessibleDescription(f"{record.name}: PV in {record.pv_unit or 'no unit'} and output in %, {span}")
        self.setToolTip(f"{title(record)}\n{_KEYS}")
        self.show_all()

    def show_fit(self, time: NDArray[np.float64], simulated: NDArray[np.float64]) -> None:
        """Lay a simulation over the PV: values [n] as those of the record, over its own times [s]."""
        self._upper = [one for one in self._upper if one.name != "fit"]
        self._upper.append(RecordLine("fit", time, self._shown(simulated)))
        self.update()

    def hide_fit(self) -> None:
        """Take the simulation away."""
        self._upper = [one for one in self._upper if one.name != "fit"]
        self.update()

    def show_all(self) -> None:
        """Show the whole record."""
        if self._record is not None:
            self.times = (float(self._record.time[0]), float(self._record.time[-1]))
            self.times_changed.emit()
        self.update()

    def _shown(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        record = self._record
        if record is None or record.pv_dimension is None:
            return values
        return values * in_unit(1.0, record.pv_dimension, record.pv_unit)

    # moving along ------------------------------------------------------------------------------------------------

    def zoom(self, factor: float, around: float | None = None) -> None:
        """Show so many times more in less; around a time [s], else around the middle."""
        if self._record is None:
            return
        begin, end = self.times
        centre = (begin + end) / 2 if around is None else around
        least = 4 * self._record.step
        if (end - begin) / factor >= least or factor < 1:
            self._go(centre - (centre - begin) / factor, centre + (end - centre) / factor)

    def _go(self, begin: float, end: float) -> None:
        """Show a stretch, kept within the record."""
        if self._record is None:
            return
        first, last = float(self._record.time[0]), float(self._record.time[-1])
        wide = min(end - begin, last - first)
        begin = min(max(begin, first), last - wide)
        self.times = (begin, begin + wide)
        self.times_changed.emit()
        self.update()

    @property
    def picture(self) -> RecordPaint | None:
        """What is painted now; None while there is no record."""
        if self._record is None:
            return None
        return RecordPaint(
            self._record, self._upper, self._lower, self._gaps, self.times, (self.width(), self.height())
        )

    def _time_at(self, x: float) -> float:
        picture = self.picture
        return 0.0 if picture is None else picture.time_at(x)

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802  Qt's name
        """Zoom around the pointer."""
        turned = event.angleDelta().y()
        if turned and self._record is not None:
            self.zoom(_ZOOM if turned > 0 else 1 / _ZOOM, self._time_at(event.position().x()))
            event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802  Qt's name
        """Take hold."""
        self._held = self._time_at(event.position().x())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802  Qt's name
        """Move along when held, and say the values under the pointer."""
        self._pointed = event.position().x()
        if self._held is not None and event.buttons() & Qt.MouseButton.LeftButton:
            by = self._held - self._time_at(self._pointed)
            self._go(self.times[0] + by, self.times[1] + by)
        self.update()

    def mouseReleaseEvent(self, _event: QMouseEvent) -> None:  # noqa: N802  Qt's name
        """Let go."""
        self._held = None

    def mouseDoubleClickEvent(self, _event: QMouseEvent) -> None:  # noqa: N802  Qt's name
        """Show all."""
        self.show_all()

    def leaveEvent(self, _event: object) -> None:  # noqa: N802  Qt's name
        """Say nothing more."""
        self._pointed = None
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  Qt's name
        """Zoom and move by keys."""
        step = 0.2 * (self.times[1] - self.times[0])
        moves = {Qt.Key.Key_Left: -step, Qt.Key.Key_Right: step}
        key = Qt.Key(event.key())
        if key in (Qt.Key.Key_Plus, Qt.Key.Key_Minus):
            self.zoom(_ZOOM if key == Qt.Key.Key_Plus else 1 / _ZOOM)
        elif key == Qt.Key.Key_Home:
            self.show_all()
        elif key in moves:
            self._go(self.times[0] + moves[key], self.times[1] + moves[key])
        else:
            super().keyPressEvent(event)

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802  Qt's name
        """Paint both panes, or the words in their place."""
        painter = painter_on(self, theme.SMALL)
        painter.fillRect(self.rect(), theme.colour(Role.CARD))
        picture = self.picture
        if picture is not None:
            picture.paint(painter, self._pointed)
            return
        painter.setFont(self.font())
        painter.setPen(theme.colour(Role.QUIET))
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, self._words)
