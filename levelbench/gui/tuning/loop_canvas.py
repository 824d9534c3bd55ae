"""The loop against the period, painted: gain, phase, and its curve round −1; a cursor reads all three at once."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QLineF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.look import theme
from levelbench.gui.look.plot_paper import Pane, painter_on
from levelbench.gui.tuning import loop_paint as lp
from levelbench.gui.tuning.loop_paint import Lines

if TYPE_CHECKING:
    from levelbench.quantity import Units

LEAST = QSize(520, 330)  # px
_NYQUIST = ((-2.6, 0.6), (-1.9, 1.3))  # the part of the plane about −1 that is shown
_FINE, _COARSE = 1.02, 1.2  # factors of the period for a press of an arrow key
_MOST_GAIN, _LEAST_GAIN = 100.0, 0.02
_PHASES = (-300.0, -90.0)  # degrees; widened where the line goes further up
_LIVELY = 2.0  # Ms that is lively: the circle that the curve should stay out of (Åström & Hägglund 1995)


class LoopCanvas(QWidget):
    """Three panes in one: the mouse or the arrow keys move a cursor over the periods."""

    pointed = Signal(float)  # period [s]

    def __init__(self) -> None:
        super().__init__()
        self._now: Lines | None = None
        self._tried: Lines | None = None
        self._units: Units | None = None
        self.period = math.nan  # of the cursor [s]
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setMinimumSize(LEAST)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("gain, phase and curve of the loop against the period")
        self.setToolTip(
            "Left and right move the cursor (Shift: in larger steps), Page up and Page down go to the next mark, "
            "Home to the gain crossover"
        )

    @property
    def newest(self) -> Lines | None:
        """The tuning that is tried, else the one that is."""
        return self._tried or self._now

    def show_lines(self, now: Lines, tried: Lines | None, shown_in: Units) -> None:
        """Show what is, and what is tried if anything is; the cursor stays at its period."""
        self._now, self._tried, self._units = now, tried, shown_in
        if not self._reaches(self.period):
            self.period = self.marks()[0]
        self.update()

    def marks(self) -> list[float]:
        """Give the periods worth a look [s]: gain crossover, where the phase is −180°, where Ms is; slowest last."""
        assert self.newest is not None
        margins, sweep = self.newest.margins, self.newest.sweep
        peak = float(sweep.period[int(np.argmin(np.abs(1 + sweep.value)))])
        found = [margins.crossover.si, margins.ultimate_period.si, peak]
        return [one for one in found if self._reaches(one)] or [float(sweep.period[sweep.period.size // 2])]

    def point(self, period: float) -> None:
        """Put the cursor at a period [s], the nearest that is shown."""
        if self.newest is None:
            return
        periods = self.newest.sweep.period
        self.period = min(max(period, float(periods[-1])), float(periods[0]))
        self.update()
        self.pointed.emit(self.period)

    def _reaches(self, period: float) -> bool:
        assert self.newest is not None
        periods = self.newest.sweep.period
        return bool(periods[-1] <= period <= periods[0])

    # by hand -----------------------------------------------------------------------------------------------------

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802  Qt's name
        """Read what is under the pointer."""
        if self.newest is None:
            return
        at = event.position()
        gain, phase, nyquist = self._panes()
        if nyquist.box.contains(at):
            value = self.newest.sweep.value
            away = np.hypot(
                (value.real - _back(at.x(), nyquist.box.left(), nyquist.box.right(), nyquist.across)),
                (value.imag - _back(at.y(), nyquist.box.bottom(), nyquist.box.top(), nyquist.up)),
            )
            self.point(float(self.newest.sweep.period[int(np.argmin(away))]))
        elif gain.box.left() <= at.x() <= gain.box.right() and gain.box.top() <= at.y() <= phase.box.bottom():
            frequency = math.exp(_back(at.x(), gain.box.left(), gain.box.right(), gain.across))
            self.point(2 * math.pi / frequency)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  Qt's name
        """Move the cursor."""
        if self.newest is None:
            return
        step = _COARSE if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else _FINE
        key, marks = Qt.Key(event.key()), sorted(self.marks())
        slower = [one for one in marks if one > self.period * 1.0001]
        faster = [one for one in marks if one < self.period / 1.0001]
        to = {
            Qt.Key.Key_Left: self.period * step,
            Qt.Key.Key_Right: self.period / step,
            Qt.Key.Key_Home: self.newest.margins.crossover.si,
            Qt.Key.Key_PageUp: slower[0] if slower else self.period,
            Qt.Key.Key_PageDown: faster[-1] if faster else self.period,
        }.get(key)
        if to is None:
            super().keyPressEvent(event)
        else:
            self.point(to)

    # painting ----------------------------------------------------------------------------------------------------

    def _panes(self) -> tuple[Pane, Pane, Pane]:
        """Lay out the panes of gain, phase and curve."""
        assert self.newest is not None
        metrics = QFontMetricsF(theme.font(theme.SMALL))
        line, left = metrics.height(), metrics.horizontalAdvance("−000") + 8
        wide = 0.52 * self.width() - left
        tall = (self.height() - 5.0 * line) / 2
        sweep = self.newest.sweep
        across = (math.log(float(sweep.frequency[0])), math.log(float(sweep.frequency[-1])))
        shown = [one.sweep for one in (self._now, self._tried) if one is not None]
        gains = [
            math.log10(min(max(float(end), _LEAST_GAIN), _MOST_GAIN)) for one in shown for end in one.gain[[0, -1]]
        ]
        phases = [float(one.phase.max()) for one in shown]
        gain = QRectF(left, 1.6 * line, wide, tall)
        phase = QRectF(left, 3.2 * line + tall, wide, tall)
        room = self.width() - (left + wide) - left - 12
        side = min(room, self.height() - 3.2 * line)
        curve = QRectF(self.width() - side - 6, 1.6 * line, side, side)
        return (
            Pane(gain, across, (min(gains), max(gains))),
            Pane(phase, across, (_PHASES[0], max(_PHASES[1], *phases))),
            Pane(curve, *_NYQUIST),
        )

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802  Qt's name
        """Paint the panes."""
        if self.newest is None or self._now is None:
            return
        painter = painter_on(self, theme.SMALL)
        gain, phase, nyquist = self._panes()
        self._paint_papers(painter, gain, phase, nyquist)
        drawn = [(self._now, lp.WAS if self._tried else lp.FULL)]
        drawn += [(self._tried, lp.FULL)] if self._tried else []
        for lines, look in drawn:
            sweep = lines.sweep
            across = np.log(sweep.frequency)
            lp.paint_line(painter, gain, across, np.log10(sweep.gain), look)
            lp.paint_line(painter, phase, across, sweep.phase, look)
            lp.paint_line(painter, nyquist, sweep.value.real, sweep.value.imag, look)
        self._paint_marks(painter, gain, phase, nyquist)
        self._paint_cursor(painter, gain, phase, nyquist)

    def _paint_papers(self, painter: QPainter, gain: Pane, phase: Pane, nyquist: Pane) -> None:
        metrics = QFontMetricsF(painter.font())
        periods = lp.period_ticks(phase, metrics)
        line = metrics.height()
        bare = [(value, "") for value, _ in periods]
        most = phase.box.height() / (1.5 * line)
        lp.paint_paper(painter, gain, bare, lp.factor_ticks(gain, line), ("gain |L|", self._says("gain")))
        angles = lp.even_ticks(*phase.up, (30.0, 45.0, 90.0), most)
        lp.paint_paper(painter, phase, periods, angles, ("phase of L, °", self._says("phase")))
        steps = (0.5, 1.0)
        across = lp.even_ticks(*nyquist.across, steps, nyquist.box.width() / (3 * line))
        up = lp.even_ticks(*nyquist.up, steps, nyquist.box.height() / (1.5 * line))
        lp.paint_paper(painter, nyquist, across, up, ("L round −1", self._says("sensitivity")))

    def _says(self, margin: str) -> str:
        """Say a margin, or how it would change."""
        assert self._units is not None
        name = "Ms" if margin == "sensitivity" else "margin"  # of what stands at the left
        said = []
        for lines in (self._now, self._tried):
            if lines is None:
                continue
            figure = getattr(lines.margins, margin)
            words = "none" if figure is None else self._units.tell(figure)
            said.append(f"{words}°" if margin == "phase" else words)
        return f"{name} {' → '.join(said if len(set(said)) > 1 else said[:1])}"

    def _paint_marks(self, painter: QPainter, gain: Pane, phase: Pane, nyquist: Pane) -> None:
        """Paint what a margin is measured from, the margins, and the circles about −1."""
        assert self.newest is not None
        margins, sweep = self.newest.margins, self.newest.sweep
        painter.setPen(theme.pen(*lp.LIMIT))
        for pane, value in ((gain, 0.0), (phase, -180.0)):
            painter.drawLine(QLineF(pane.box.left(), pane.y(value), pane.box.right(), pane.y(value)))
        if 0 < margins.gain.si < math.inf:
            turn = int(np.argmin(np.abs(sweep.gain * margins.gain.si - 1)))
            lp.paint_bracket(painter, gain, math.log(float(sweep.frequency[turn])), (-math.log10(margins.gain.si), 0.0))
        if math.isfinite(margins.phase.si):
            across = math.log(2 * math.pi / margins.crossover.si)
            lp.paint_bracket(painter, phase, across, (-180.0, -180.0 + margins.phase.si))
        lp.paint_circle(painter, nyquist, (-1.0, 0.0), 1 / _LIVELY, lp.LIMIT)
        lp.paint_circle(painter, nyquist, (0.0, 0.0), 1.0, lp.GRID)
        if margins.sensitivity is not None:
            lp.paint_circle(painter, nyquist, (-1.0, 0.0), 1 / margins.sensitivity.si, lp.MARK)
        lp.paint_dot(painter, nyquist, -1.0, 0.0, filled=True)

    def _paint_cursor(self, painter: QPainter, gain: Pane, phase: Pane, nyquist: Pane) -> None:
        assert self.newest is not None
        if not self._reaches(self.period):
            return
        sweep = self.newest.sweep
        at = int(np.argmin(np.abs(np.log(sweep.period / self.period))))
        across = math.log(2 * math.pi / self.period)
        painter.setPen(theme.pen(*lp.HAIR))
        for pane in (gain, phase):
            painter.drawLine(QLineF(pane.x(across), pane.box.top(), pane.x(across), pane.box.bottom()))
        lp.paint_dot(painter, gain, across, math.log10(float(sweep.gain[at])), filled=False)
        lp.paint_dot(painter, phase, across, float(sweep.phase[at]), filled=False)
        lp.paint_dot(painter, nyquist, float(sweep.value[at].real), float(sweep.value[at].imag), filled=False)
        if self.hasFocus():
            painter.setPen(theme.pen(Role.WATER_LINE, 1.0, Qt.PenStyle.DotLine))
            painter.drawRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5))


def _back(at: float, low: float, high: float, values: tuple[float, float]) -> float:
    """Give the value at a place between two edges [px]."""
    return values[0] + (at - low) / (high - low) * (values[1] - values[0])
