"""One pane of the trend: a heading with its pens, and their curves over time. Speaks to pyqtgraph for the trend."""

from collections.abc import Iterable

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QColor, QPen
from PySide6.QtWidgets import QFrame, QSizePolicy, QVBoxLayout, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.look.theme import SMALL, Theme, font
from levelbench.gui.trend.axes import ValueAxis, scale_label, scale_step
from levelbench.gui.trend.key import CurveKey, PaneHead
from levelbench.gui.trend.pens import CURVES, PaneKind, pen_of
from levelbench.gui.trend.pyramid import Reals

LEFT, RIGHT = 44, 48  # px: room of the axes at least
AIR = 0.04  # share of a range that is kept free above and below the data
FULL = 0.55  # a range is kept while the data fill more of it than this
# Where the name of a limit stands: across (share of the width), and above (1) or below (0) its line. No two touch.
_NAMES_AT = {"high-high": (0.995, 1), "high": (0.86, 1), "low": (0.86, 0), "low-low": (0.995, 0)}


def plain_plot(bottom: pg.AxisItem | None = None) -> pg.PlotWidget:
    """Make a plot that zooms and moves over time only, with nothing of the library's own menus or buttons."""
    axes = {"left": ValueAxis("left"), "right": ValueAxis("right")} | ({"bottom": bottom} if bottom else {})
    made = pg.PlotWidget(axisItems=axes)
    made.setFrameShape(QFrame.Shape.NoFrame)
    made.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    made.setContextMenuPolicy(Qt.ContextMenuPolicy.NoContextMenu)  # the trend's own comes up instead
    plot = made.getPlotItem()
    plot.setMenuEnabled(False)
    plot.hideButtons()
    plot.setMouseEnabled(x=True, y=False)
    plot.disableAutoRange()
    plot.showAxis("right")
    plot.layout.setContentsMargins(0, 0 if bottom else 6, 0, 0 if bottom else 3)
    for side in ("left", "right", "bottom"):
        plot.getAxis(side).enableAutoSIPrefix(False)
        plot.getAxis(side).setStyle(tickLength=-4, autoExpandTextSpace=False)
    plot.getAxis("left").setWidth(LEFT)
    plot.getAxis("right").setWidth(RIGHT)
    if bottom is None:
        plot.hideAxis("bottom")
    return made


def dress_plot(made: pg.PlotWidget, theme: Theme) -> None:
    """Give ground and axes the colours of a theme."""
    quiet, hairline = QColor(theme.colour(Role.QUIET)), QColor(theme.colour(Role.HAIRLINE))
    made.setBackground(theme.colour(Role.CARD))
    made.getPlotItem().vb.setBorder(hairline)
    for side in ("left", "right", "bottom"):
        axis = made.getPlotItem().getAxis(side)
        axis.setPen(QPen(Qt.PenStyle.NoPen))  # the frame is the box's border
        axis.setTextPen(quiet)
        axis.setTickFont(font(SMALL))
        axis.setTickPen(hairline)


class Pane(QWidget):
    """A heading over a plot with a scale on the left, and one on the right for what has another unit."""

    moved_by_hand = Signal(float, float)  # [s] from, to

    def __init__(self, kind: PaneKind) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self.kind = kind
        self.pens = [curve for curve in CURVES if curve.pane == kind.name]
        self.keys = {curve.column: CurveKey(curve) for curve in self.pens}
        self.head = PaneHead(list(self.keys.values()))
        self.view = plain_plot()
        self.view.setMinimumHeight(44)
        self.view.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Ignored)  # takes what is left, no more
        self.view.setAccessibleName(f"curves: {kind.heading}")
        self.plot = self.view.getPlotItem()
        self.left_box, self.right_box = self.plot.vb, pg.ViewBox(enableMenu=False)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.head)
        layout.addWidget(self.view, 1)
        self._build_right()
        self._build_items()
        # Methods, no lambdas: what a graphics item holds on to must not be what holds the item.
        self.left_box.sigRangeChangedManually.connect(self._moved)

    def _build_right(self) -> None:
        self.plot.scene().addItem(self.right_box)
        self.right_box.setXLink(self.left_box)
        self.right_box.setMouseEnabled(x=False, y=False)
        self.right_box.disableAutoRange()
        self.plot.getAxis("right").linkToView(self.right_box)
        self.left_box.sigResized.connect(self._resized)

    def _moved(self) -> None:
        start, end = self.left_box.viewRange()[0]
        self.moved_by_hand.emit(float(start), float(end))

    def _resized(self) -> None:
        self.right_box.setGeometry(self.left_box.sceneBoundingRect())

    def _build_items(self) -> None:
        self.grid = pg.PlotCurveItem(connect="pairs", skipFiniteCheck=True)
        self.left_box.addItem(self.grid)
        self.curves: dict[str, pg.PlotCurveItem] = {}
        for curve in self.pens:
            self.curves[curve.column] = pg.PlotCurveItem(skipFiniteCheck=True, antialias=False)
            (self.right_box if curve.right else self.left_box).addItem(self.curves[curve.column])
        self.hair = pg.InfiniteLine(angle=90)
        self.left_box.addItem(self.hair, ignoreBounds=True)
        self.hair.hide()
        self._limits: list[pg.InfiniteLine] = []
        self._theme: Theme | None = None

    def minimumSizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Leave room for the heading as it stands, and for a curve that can still be read."""
        head = self.head.heightForWidth(max(self.width(), self.head.minimumSizeHint().width()))
        return QSize(self.head.minimumSizeHint().width(), head + self.view.minimumHeight())

    def dress(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self._theme = theme
        dress_plot(self.view, theme)
        faint = QColor(theme.colour(Role.HAIRLINE))
        faint.setAlphaF(0.55)
        self.grid.setPen(QPen(faint, 0))
        for curve in self.pens:
            self.curves[curve.column].setPen(pen_of(curve, theme, max(1.0, self.devicePixelRatioF())))
        self.hair.setPen(QPen(QColor(theme.colour(Role.INK)), 0))
        for line in self._limits:
            self._dress_limit(line)

    def name_units(self, left: str, right: str) -> None:
        """Say in the heading what is shown in which unit, and on the right axis beside each number."""
        self.head.name.setText(f"{self.kind.heading}, {left}")
        self.plot.getAxis("right").unit = right

    def show_pens(self, chosen: set[str]) -> None:
        """Show the keys of these pens, and the pane only when it has one; the scale on the right when it is used."""
        for column, key in self.keys.items():
            key.setVisible(column in chosen)
        self.setVisible(any(column in chosen for column in self.keys))
        used = any(pen.right and pen.column in chosen for pen in self.pens)
        self.plot.getAxis("right").setStyle(showValues=used, tickLength=-4 if used else 0)

    def show_span(self, start: float, end: float) -> None:
        """Show the times from start to end [s]."""
        self.left_box.setXRange(start, end, padding=0)

    def draw(self, column: str, times: Reals, values: Reals) -> None:
        """Draw a curve through values in the unit of its axis."""
        self.curves[column].setData(times, values)

    def draw_grid(self, across: list[float]) -> None:
        """Draw a line at every tick. The library's own grid costs 11 ms a frame, this one well under 1 ms."""
        (left, right), (bottom, top) = self.left_box.viewRange()
        step = scale_step(top - bottom, self.left_box.height())
        upward = [float(at) for at in np.arange(np.ceil(bottom / step), top / step + 1e-9) * step]
        x = [place for at in across for place in (at, at)] + [left, right] * len(upward)
        y = [bottom, top] * len(across) + [place for at in upward for place in (at, at)]
        self.grid.setData(np.array(x), np.array(y))

    def room_for_scale(self) -> int:
        """Give the room that the labels on the left need [px]."""
        _, (bottom, top) = self.left_box.viewRange()
        step = scale_step(top - bottom, self.left_box.height())
        widest = max(len(scale_label(value, step)) for value in (bottom, top))
        return max(LEFT, 8 * -(-(widest * SMALL * 2 // 3 + 12) // 8))

    def fit(self, low: float, high: float, least: float, *, right: bool = False) -> None:
        """Show values from low to high with air around them, over `least` or more; keep a range that still serves."""
        box = self.right_box if right else self.left_box
        _, (bottom, top) = box.viewRange()
        span = max(high - low, least)
        air = AIR * (top - bottom)
        if bottom + air <= low and high <= top - air and span > FULL * (top - bottom):
            return
        middle = (low + high) / 2
        box.setYRange(middle - 0.62 * span, middle + 0.62 * span, padding=0)

    def show_range(self, low: float, high: float, *, right: bool = False) -> None:
        """Show exactly the values from low to high."""
        (self.right_box if right else self.left_box).setYRange(low, high, padding=0)

    def show_limits(self, limits: Iterable[tuple[str, float]]) -> None:
        """Draw thin lines with their names at values on the left axis."""
        for line in self._limits:
            self.left_box.removeItem(line)
        self._limits = []
        for name, at in limits:
            across, side = _NAMES_AT[name]
            options = {"position": across, "anchors": [(1, side), (1, side)]}
            line = pg.InfiniteLine(at, angle=0, label=name, labelOpts=options)
            line.label.setFont(font(SMALL))
            self.left_box.addItem(line, ignoreBounds=True)
            self._limits.append(line)
            self._dress_limit(line)

    def _dress_limit(self, line: pg.InfiniteLine) -> None:
        if self._theme is not None:
            colour = QColor(self._theme.colour(Role.ATTENTION))
            line.setPen(QPen(colour, 0, Qt.PenStyle.DashLine))
            line.label.setColor(colour)

    def show_cursor(self, time: float | None) -> None:
        """Put the cursor at a time [s], or take it away."""
        self.hair.setVisible(time is not None)
        if time is not None:
            self.hair.setPos(time)
