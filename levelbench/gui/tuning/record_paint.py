"""Painting a record: PV with set point over the output, scales, stretches without samples, what is pointed at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter

from levelbench.drawing.scene import Role
from levelbench.drawing.ticks import nice_ticks
from levelbench.gui.look import theme
from levelbench.gui.look.plot_paper import fitting, paint_up
from levelbench.gui.look.theme import GRID
from levelbench.gui.tuning.record_lines import RecordLine, RecordPane
from levelbench.quantity import in_unit, rounded, written

if TYPE_CHECKING:
    from levelbench.records import Measured

_SHARE = 0.64  # of the height, for the PV
_LOOKS = {  # colour, width and kind of stroke by the name of the line: each can be told without its colour
    "PV": (Role.WATER_LINE, 1.2, Qt.PenStyle.SolidLine),
    "SP": (Role.INK, 1.0, Qt.PenStyle.DashLine),
    "OP": (Role.INK, 1.2, Qt.PenStyle.SolidLine),
    "fit": (Role.ATTENTION, 2.6, Qt.PenStyle.SolidLine),
}
_CLOCKS = ((172_800.0, "d", 86400.0), (7200.0, "h", 3600.0), (180.0, "min", 60.0), (0.0, "s", 1.0))


@dataclass(frozen=True, eq=False)
class RecordPaint:
    """A record as it is to be painted: its lines, the stretch of time that is shown [s], and the room there is [px]."""

    record: Measured
    upper: Sequence[RecordLine]
    lower: Sequence[RecordLine]
    gaps: NDArray[np.float64]  # [gaps, 2] [s]
    times: tuple[float, float]
    size: tuple[int, int]

    @property
    def boxes(self) -> tuple[QRectF, QRectF]:
        """Where the two panes lie."""
        metrics = QFontMetricsF(theme.font(theme.SMALL))
        line, left = metrics.height(), metrics.horizontalAdvance("−00000.0") + 10
        room = self.size[1] - 5.2 * line - GRID
        wide = self.size[0] - left - 2 * GRID
        upper = QRectF(left, 2.6 * line, wide, room * _SHARE)
        return upper, QRectF(left, upper.bottom() + 1.6 * line, wide, room * (1 - _SHARE))

    def time_at(self, x: float) -> float:
        """Give the time at a place [s]."""
        box = self.boxes[0]
        return self.times[0] + (x - box.left()) / max(box.width(), 1.0) * (self.times[1] - self.times[0])

    def paint(self, painter: QPainter, pointed: float | None) -> None:
        """Paint all of it; `pointed` is where the pointer is [px]."""
        metrics = QFontMetricsF(theme.font(theme.SMALL))
        line = metrics.height()
        upper, lower = self.boxes
        _paint_times(painter, lower, self.times)
        name = f"PV, {self.record.pv_unit}" if self.record.pv_unit else "PV, no unit"
        for lines, box, words in ((self.upper, upper, name), (self.lower, lower, "output, %")):
            pane = RecordPane.around(lines, self.times, box, line)
            _paint_ground(painter, pane, self.gaps.tolist(), words)
            painter.setClipRect(box)
            for one in sorted(lines, key=lambda each: -_LOOKS[each.name][1]):  # the thinner over the wider
                painter.setPen(theme.pen(*_LOOKS[one.name]))
                for part in pane.polygons(one):
                    painter.drawPolyline(part)
            painter.setClipping(False)
            _paint_key(painter, pane, lines, gaps=bool(len(self.gaps)) and lines is self.upper)
        room = upper.width()
        if pointed is not None and upper.left() <= pointed <= upper.right():
            room -= self._paint_pointed(painter, pointed) + 2 * GRID
        painter.setPen(theme.pen(Role.INK))
        painter.drawText(QPointF(upper.left(), 1.1 * line), fitting(title(self.record), room, metrics))

    def _pv(self, at: int) -> float:
        """Give a sample of the PV in the unit that it is shown in."""
        record = self.record
        if record.pv_dimension is None:
            return float(record.pv[at])
        return in_unit(float(record.pv[at]), record.pv_dimension, record.pv_unit)

    def _paint_pointed(self, painter: QPainter, x: float) -> float:
        """Say what was measured under the pointer; gives how wide the words are [px]."""
        record = self.record
        upper, lower = self.boxes
        at = int(np.clip(np.searchsorted(record.time, self.time_at(x), side="right") - 1, 0, len(record) - 1))
        painter.setPen(theme.pen(Role.QUIET))
        painter.drawLine(QLineF(x, upper.top(), x, lower.bottom()))
        unit = f" {record.pv_unit}" if record.pv_unit else ""
        words = f"{clock(float(record.time[at]))}: PV {rounded(self._pv(at), 4)}{unit}"
        words += f", OP {rounded(100 * float(record.output[at]), 3)} %"
        metrics = QFontMetricsF(theme.font(theme.SMALL))
        wide = metrics.horizontalAdvance(words)
        painter.setPen(theme.pen(Role.INK))
        painter.drawText(QPointF(upper.right() - wide, 1.1 * metrics.height()), words)
        return wide


def _paint_ground(painter: QPainter, pane: RecordPane, gaps: list[list[float]], name: str) -> None:
    """Paint frame, scale, title, and a tint where no samples are."""
    box, metrics = pane.box, QFontMetricsF(theme.font(theme.SMALL))
    for begin, end in gaps:
        left, right = max(pane.x(begin), box.left()), min(pane.x(end), box.right())
        if right > left:
            painter.fillRect(QRectF(left, box.top(), right - left, box.height()), theme.colour(Role.ATTENTION_TINT))
    paint_up(painter, box, [(pane.y(value), words) for value, words in pane.marks])
    painter.setPen(theme.pen(Role.HAIRLINE))
    painter.drawRect(box)
    painter.setPen(theme.pen(Role.QUIET))
    painter.drawText(QPointF(box.left(), box.top() - 0.35 * metrics.height()), name)


def _paint_key(painter: QPainter, pane: RecordPane, lines: Sequence[RecordLine], *, gaps: bool) -> None:
    """Say at the top right which line is which, where there is more than one thing to tell apart."""
    metrics = QFontMetricsF(theme.font(theme.SMALL))
    x, y = pane.box.right(), pane.box.top() - 0.35 * metrics.height()
    names = [*(["no samples"] if gaps else []), *(one.name for one in lines)]
    for name in reversed(names) if len(names) > 1 else []:
        x -= metrics.horizontalAdvance(name)
        painter.setPen(theme.pen(Role.QUIET))
        painter.drawText(QPointF(x, y), name)
        if name in _LOOKS:
            painter.setPen(theme.pen(*_LOOKS[name]))
            painter.drawLine(QLineF(x - 20, y - 3.5, x - 4, y - 3.5))
        else:
            painter.fillRect(QRectF(x - 20, y - 8, 16, 9), theme.colour(Role.ATTENTION_TINT))
        x -= 30


def _paint_times(painter: QPainter, lower: QRectF, times: tuple[float, float]) -> None:
    """Paint the scale of time under the lower pane."""
    metrics = QFontMetricsF(theme.font(theme.SMALL))
    begin, end = times
    unit, each = _unit_for(end - begin)
    count = max(2, int(lower.width() / metrics.horizontalAdvance("000000.0 min")))
    ticks = nice_ticks(begin / each, end / each, count)
    for number, (value, words) in enumerate(ticks):
        shown = f"{words} {unit}" if number == len(ticks) - 1 else words
        x = lower.left() + (value * each - begin) / (end - begin) * lower.width()
        painter.setPen(theme.pen(Role.HAIRLINE))
        painter.drawLine(QLineF(x, lower.top(), x, lower.bottom()))
        painter.setPen(theme.pen(Role.QUIET))
        left = min(x - metrics.horizontalAdvance(shown) / 2, lower.right() - metrics.horizontalAdvance(shown) + 6)
        painter.drawText(QPointF(left, lower.bottom() + 1.1 * metrics.height()), shown)


def title(record: Measured) -> str:
    """Say which record this is, and how long."""
    return f"{record.name} · {written(len(record), '.0f')} samples, {clock(record.lasts)}"


def _unit_for(seconds: float) -> tuple[str, float]:
    return next((unit, each) for least, unit, each in _CLOCKS if seconds >= least or least == 0.0)


def clock(seconds: float) -> str:
    """Say how long something lasts in the unit that suits it."""
    unit, each = _unit_for(seconds)
    return f"{rounded(seconds / each, 4)} {unit}"
