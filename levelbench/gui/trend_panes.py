"""The panes of the trend: flags over volumes over flows, on one time axis. Speaks to pyqtgraph for the trend."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, Qt, Signal
from PySide6.QtGui import QColor, QFont, QPainterPath, QPen
from PySide6.QtWidgets import QVBoxLayout, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.pyramid import Reals
from levelbench.gui.theme import FAMILY, SMALL, Theme
from levelbench.gui.trend_axes import CURVES, ClockAxis, Curve, pen_of

LEFT, RIGHT, FLAGS = 52, 40, 18  # px: room of the axes, height of the flags
AIR = 0.04  # share of a range that is kept free above and below the data
FULL = 0.55  # a range is kept while the data fill more of it than this


@dataclass(frozen=True)
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


def small_font() -> QFont:
    """Give the font of the axes."""
    font = QFont(FAMILY)
    font.setPixelSize(SMALL)
    return font


class Panes(QWidget):
    """Three panes that share their time axis. Values come in already converted to the units of the axes."""

    moved_by_hand = Signal()
    range_changed = Signal(float, float)  # [s] shown from, to
    pointed = Signal(float)  # [s] under the pointer

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.view = pg.GraphicsLayoutWidget()
        self.view.ci.setContentsMargins(0, 0, 0, 0)
        self.view.ci.layout.setSpacing(0)
        self.setMinimumHeight(160)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.view)
        self._build_plots()
        self._build_items()
        self._limits: list[pg.InfiniteLine] = []
        self.volume.vb.sigRangeChangedManually.connect(lambda _mask: self.moved_by_hand.emit())
        self.flow.vb.sigRangeChangedManually.connect(lambda _mask: self.moved_by_hand.emit())
        self.volume.vb.sigXRangeChanged.connect(lambda _box, span: self.range_changed.emit(*span))
        self.view.scene().sigMouseMoved.connect(self._point)

    def _build_plots(self) -> None:
        self.flags = self.view.addPlot(row=0, col=0)
        self.volume = self.view.addPlot(row=1, col=0)
        self.flow = self.view.addPlot(row=2, col=0, axisItems={"bottom": ClockAxis("bottom")})
        self.output = pg.ViewBox(enableMenu=False)
        self.flow.scene().addItem(self.output)
        self.view.ci.layout.setRowFixedHeight(0, FLAGS)
        self.view.ci.layout.setRowSpacing(1, 8)
        self.view.ci.layout.setRowStretchFactor(1, 5)
        self.view.ci.layout.setRowStretchFactor(2, 3)
        for plot in (self.flags, self.volume, self.flow):
            plot.setMenuEnabled(False)
            plot.hideButtons()
            plot.setMouseEnabled(x=True, y=False)
            plot.disableAutoRange()
            plot.showAxis("right")
            plot.getAxis("left").setWidth(LEFT)
            plot.getAxis("right").setWidth(RIGHT)
            for side in ("left", "right", "bottom"):
                plot.getAxis(side).enableAutoSIPrefix(False)
                plot.getAxis(side).setStyle(tickLength=-4, autoExpandTextSpace=False)
        for plot in (self.flags, self.volume):
            plot.setXLink(self.flow)
            plot.getAxis("bottom").setStyle(showValues=False)
            plot.getAxis("right").setStyle(showValues=False, tickLength=0)
        self.flags.hideAxis("bottom")
        self.flags.getAxis("left").setStyle(showValues=False, tickLength=0)
        self.flags.setYRange(0, 1, padding=0)
        self.output.setXLink(self.flow)
        self.output.setMouseEnabled(x=False, y=False)
        self.output.setYRange(0, 100, padding=0.04)
        self.flow.getAxis("right").linkToView(self.output)
        self.flow.vb.sigResized.connect(lambda: self.output.setGeometry(self.flow.vb.sceneBoundingRect()))

    def _build_items(self) -> None:
        boxes = {"volume": self.volume, "flow": self.flow, "output": self.output}
        self.grids = {name: pg.PlotCurveItem(connect="pairs", skipFiniteCheck=True) for name in ("volume", "flow")}
        for name, grid in self.grids.items():
            boxes[name].addItem(grid)
        self.curves: dict[str, pg.PlotCurveItem] = {}
        for curve in CURVES:
            self.curves[curve.column] = pg.PlotCurveItem(skipFiniteCheck=True, antialias=False)
            boxes[curve.pane].addItem(self.curves[curve.column])
        self.marks = pg.ScatterPlotItem(symbol=_flag_shape(), size=13, pxMode=True, antialias=True)
        self.flags.addItem(self.marks)
        self.cursors = [pg.InfiniteLine(angle=90) for _ in range(3)]
        for line, plot in zip(self.cursors, (self.flags, self.volume, self.flow), strict=True):
            plot.addItem(line)
            line.hide()

    def dress(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self._theme = theme
        ink, quiet = QColor(theme.colour(Role.INK)), QColor(theme.colour(Role.QUIET))
        hairline = QColor(theme.colour(Role.HAIRLINE))
        self.view.setBackground(theme.colour(Role.CARD))
        for plot in (self.flags, self.volume, self.flow):
            for side in ("left", "right", "bottom"):
                axis = plot.getAxis(side)
                axis.setPen(hairline)
                axis.setTextPen(quiet)
                axis.setTickFont(small_font())
                axis.setTickPen(hairline)
        faint = QColor(hairline)
        faint.setAlphaF(0.55)
        for grid in self.grids.values():
            grid.setPen(QPen(faint, 0))
        for curve in CURVES:
            self.curves[curve.column].setPen(pen_of(curve, theme, max(1.0, self.devicePixelRatioF())))
        for line in self.cursors:
            line.setPen(QPen(ink, 0))

    def name_axes(self, volume: str, flow: str) -> None:
        """Write the units on the axes."""
        self.volume.setLabel("left", volume)
        self.flow.setLabel("left", flow)
        self.flow.setLabel("right", "OP %")

    def width_of_plot(self) -> int:
        """Give the width of the panes without their axes [px]."""
        return max(int(self.volume.vb.width()), 50)

    def span(self) -> tuple[float, float]:
        """Give the times shown [s]: from, to."""
        (start, end), _ = self.volume.vb.viewRange()
        return float(start), float(end)

    def show_span(self, start: float, end: float) -> None:
        """Show the times from start to end [s]."""
        self.flow.setXRange(start, end, padding=0)

    def draw(self, curve: Curve, times: Reals, values: Reals) -> None:
        """Draw a curve through values in the unit of its axis."""
        self.curves[curve.column].setData(times, values)

    def draw_grid(self) -> None:
        """Draw a line at every labelled tick. The library's own grid costs 11 ms a frame, this one well under 1 ms."""
        for plot, grid in ((self.volume, self.grids["volume"]), (self.flow, self.grids["flow"])):
            (left, right), (bottom, top) = plot.vb.viewRange()
            across = self._ticks(self.flow.getAxis("bottom"), left, right, plot.vb.width())
            upward = self._ticks(plot.getAxis("left"), bottom, top, plot.vb.height())
            x = [place for at in across for place in (at, at)] + [left, right] * len(upward)
            y = [bottom, top] * len(across) + [place for at in upward for place in (at, at)]
            grid.setData(np.array(x), np.array(y))

    @staticmethod
    def _ticks(axis: pg.AxisItem, low: float, high: float, size: float) -> list[float]:
        levels = axis.tickValues(low, high, size)
        return [float(at) for at in levels[0][1]] if levels else []

    def fit(self, pane: str, low: float, high: float, least: float) -> None:
        """Show values from low to high with air around them, over `least` or more; keep a range that still serves."""
        plot = self.volume if pane == "volume" else self.flow
        _, (bottom, top) = plot.vb.viewRange()
        span = max(high - low, least)
        air = AIR * (top - bottom)
        if bottom + air <= low and high <= top - air and span > FULL * (top - bottom):
            return
        middle = (low + high) / 2
        plot.setYRange(middle - 0.62 * span, middle + 0.62 * span, padding=0)

    def show_range(self, low: float, high: float) -> None:
        """Show these volumes exactly."""
        self.volume.setYRange(low, high, padding=0)

    def show_limits(self, limits: Iterable[tuple[str, float]]) -> None:
        """Draw horizontal lines with their names at volumes in the unit of the axis."""
        for line in self._limits:
            self.volume.removeItem(line)
        self._limits = []
        for name, at in limits:
            colour = QColor(self._theme.colour(Role.ATTENTION))
            options = {"color": colour, "position": 0.995, "anchors": [(1, 1), (1, 1)]}
            line = pg.InfiniteLine(at, angle=0, label=name, labelOpts=options)
            line.setPen(QPen(colour, 0, Qt.PenStyle.DashLine))
            line.label.setFont(small_font())
            self.volume.addItem(line, ignoreBounds=True)
            self._limits.append(line)

    def show_flags(self, flags: Sequence[Flag]) -> None:
        """Show these flags and no others."""
        attention, quiet = QColor(self._theme.colour(Role.ATTENTION)), QColor(self._theme.colour(Role.QUIET))
        colours = [attention if flag.alarm else quiet for flag in flags]
        self.marks.setData(
            x=np.array([flag.time for flag in flags]),
            y=np.full(len(flags), 0.5),
            pen=[pg.mkPen(colour, width=1) for colour in colours],
            brush=[pg.mkBrush(colour if flag.came else None) for flag, colour in zip(flags, colours, strict=True)],
        )

    def show_cursor(self, time: float | None) -> None:
        """Put the cursor at a time [s], or take it away."""
        for line in self.cursors:
            line.setVisible(time is not None)
            if time is not None:
                line.setPos(time)

    def _point(self, place: QPointF) -> None:
        if self.volume.vb.sceneBoundingRect().contains(place) or self.flow.vb.sceneBoundingRect().contains(place):
            self.pointed.emit(float(self.volume.vb.mapSceneToView(place).x()))
