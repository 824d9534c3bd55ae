"""The strip under the panes: flags where something happened, the words of the chosen one, and the clock."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, Signal
from PySide6.QtGui import QColor, QPainterPath, QPen
from PySide6.QtWidgets import QVBoxLayout, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.look.theme import SMALL, Theme, font
from levelbench.gui.trend.axes import ClockAxis, clock_step
from levelbench.gui.trend.clock import clock
from levelbench.gui.trend.pane import dress_plot, plain_plot

FLAGS, CLOCK = 20, 18  # px: heights
FLAG = 13  # px: size of a flag


@dataclass(frozen=True, slots=True)
class Flag:
    """A mark at a time [s]: `alarm` ones stand out, `came` ones are filled."""

    time: float
    words: str
    alarm: bool
    came: bool


def _flag_shape() -> QPainterPath:
    path = QPainterPath(QPointF(0, 0.5))
    for x, y in ((0, -0.5), (0.65, -0.28), (0, -0.05)):
        path.lineTo(x, y)
    return path


class Strip(QWidget):
    """Flags over a time axis."""

    moved_by_hand = Signal(float, float)  # [s] from, to

    def __init__(self) -> None:
        super().__init__()
        axis = ClockAxis("bottom")
        axis.setHeight(CLOCK)
        self.view = plain_plot(axis)
        self.view.setAccessibleName("flags over time")
        self.plot = self.view.getPlotItem()
        self.plot.setYRange(0, 1, padding=0)
        for side in ("left", "right"):
            self.plot.getAxis(side).setStyle(showValues=False, tickLength=0)
        self.marks = pg.ScatterPlotItem(symbol=_flag_shape(), size=FLAG, pxMode=True, antialias=True, useCache=False)
        self.plot.addItem(self.marks)
        self.hair = pg.InfiniteLine(angle=90)
        self.plot.addItem(self.hair, ignoreBounds=True)
        self.words = pg.TextItem(anchor=(0, 0.5))
        self.words.setFont(font(SMALL))
        self.words.setZValue(10)
        self.plot.addItem(self.words, ignoreBounds=True)
        self.setFixedHeight(FLAGS + CLOCK)
        self._flags: Sequence[Flag] = ()
        self._chosen: Flag | None = None
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.view)
        self.plot.vb.sigRangeChangedManually.connect(self._moved)

    def _moved(self) -> None:
        start, end = self.plot.vb.viewRange()[0]
        self.moved_by_hand.emit(float(start), float(end))

    def dress(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self._theme = theme
        dress_plot(self.view, theme)
        self.hair.setPen(QPen(QColor(theme.colour(Role.INK)), 0))
        self.words.setColor(QColor(theme.colour(Role.INK)))
        self.words.fill = pg.mkBrush(QColor(theme.colour(Role.CARD)))
        self.show_flags(self._flags, self._chosen)

    def ticks(self) -> list[float]:
        """Give the times of the clock's ticks [s]."""
        (start, end), _ = self.plot.vb.viewRange()
        step = clock_step(end - start, self.plot.vb.width())
        return [float(at) for at in np.arange(np.ceil(start / step), end / step + 1e-9) * step]

    def show_span(self, start: float, end: float) -> None:
        """Show the times from start to end [s]."""
        self.plot.setXRange(start, end, padding=0)

    def show_flags(self, flags: Sequence[Flag], chosen: Flag | None) -> None:
        """Show these flags and no others, and say what the chosen one means beside it."""
        self._flags, self._chosen = flags, chosen
        attention, quiet = QColor(self._theme.colour(Role.ATTENTION)), QColor(self._theme.colour(Role.QUIET))
        if chosen is not None and chosen not in flags:
            flags = [*flags, chosen]
        colours = [attention if flag.alarm else quiet for flag in flags]
        self.marks.setData(
            x=np.array([flag.time for flag in flags]),
            y=np.full(len(flags), 0.5),
            pen=[pg.mkPen(colour, width=1) for colour in colours],
            brush=[pg.mkBrush(colour if flag.came else None) for flag, colour in zip(flags, colours, strict=True)],
        )
        self.words.setVisible(chosen is not None)
        if chosen is not None:
            self._say(chosen)

    def _say(self, flag: Flag) -> None:
        """Write the words beside their flag, on the side where there is room."""
        self.words.setText(f"{clock(flag.time, True)}  {flag.words}")
        (start, end), _ = self.plot.vb.viewRange()
        pixel = (end - start) / max(self.plot.vb.width(), 1)
        fits = flag.time + pixel * (FLAG + self.words.boundingRect().width()) < end
        self.words.setAnchor((0, 0.5) if fits else (1, 0.5))
        self.words.setPos(flag.time + pixel * (FLAG * 0.75 if fits else -FLAG / 4), 0.5)

    def show_cursor(self, time: float | None) -> None:
        """Put the cursor at a time [s], or take it away."""
        self.hair.setVisible(time is not None)
        if time is not None:
            self.hair.setPos(time)
