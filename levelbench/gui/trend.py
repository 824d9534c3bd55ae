"""The trend: what the rig did over time, live or recorded. Follows the present until a person moves the view."""

from collections.abc import Iterable, Sequence
from functools import partial

import numpy as np
from PySide6.QtCore import QEvent, Qt, QTimer
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QWidget

from levelbench.gui import theme
from levelbench.gui.parts import button, column, row, text
from levelbench.gui.pyramid import Reals
from levelbench.gui.scales import Scales
from levelbench.gui.theme import GRID
from levelbench.gui.trend_axes import CURVES, SPANS, clock
from levelbench.gui.trend_history import History
from levelbench.gui.trend_key import CurveKey
from levelbench.gui.trend_panes import Panes
from levelbench.quantity import Dimension
from levelbench.rig.recording import Entry, Recording

FRAME = 33  # ms between two drawings at least
AHEAD = 0.03  # share of the span that is kept free after the present
FLAG_ROOM = 12  # px that a flag takes; of several closer together the first alarm is shown


class Trend(QWidget):
    """Curves with their key above, a cursor that reads values, spans to choose from, and a way back to the present."""

    def __init__(self, parent: QWidget | None = None, panes: Panes | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("trend")
        self.panes = panes or Panes()
        self.keys = {curve.column: CurveKey(curve) for curve in CURVES}
        self.at = text("", "quiet")
        self.said = text("", "quiet")
        self.follow_button = button("Follow", self.follow, tip="go back to the present and stay there")
        self.tank_button = button("Whole tank", self._soon, tip="show volumes from empty to the spill")
        for one in (self.follow_button, self.tank_button):
            one.setCheckable(True)
            one.setMinimumWidth(one.fontMetrics().horizontalAdvance(one.text()) + 6 * GRID)  # bold when pressed
        self._spans = {name: button(name, partial(self.show_last, SPANS[name])) for name in SPANS}
        self._redraw_timer = QTimer(self, singleShot=True, interval=FRAME)
        self._redraw_timer.timeout.connect(self.redraw)
        self._scales: Scales | None = None
        self._length = SPANS["2 min"]
        self._cursor: float | None = None
        self._history = History()
        self._following = True
        self._place()
        self.panes.dress(theme.current())

    def _place(self) -> None:
        keys = QHBoxLayout()
        keys.setContentsMargins(GRID, 0, 0, 0)
        keys.setSpacing(GRID // 2)
        for key in self.keys.values():
            keys.addWidget(key)
        keys.addStretch(1)
        head = row(self.at, self.said, None)
        head.setContentsMargins(GRID, GRID // 2, GRID, 0)
        foot = row(None, self.tank_button, *self._spans.values(), self.follow_button, gap=4)
        foot.setContentsMargins(GRID, 0, GRID, GRID // 2)
        self.at.setMinimumWidth(self.fontMetrics().horizontalAdvance("now 00:00:00.0 "))
        layout = column(head, keys, self.panes, foot, gap=2)
        layout.setStretch(2, 1)
        self.setLayout(layout)
        self.panes.moved_by_hand.connect(self._stop_following)
        self.panes.range_changed.connect(lambda _start, _end: self._soon())
        self.panes.pointed.connect(self.point)
        for key in self.keys.values():
            key.toggled.connect(lambda _on: self._soon())

    # What is shown -----------------------------------------------------------------------------------------------

    def begin(self, scales: Scales) -> None:
        """Start afresh for a run in these scales."""
        self._scales = scales
        self._history = History()
        self.panes.name_axes(scales.units.of(Dimension.VOLUME), scales.units.of(Dimension.FLOW))
        self.follow()

    def append(self, rows: Reals, journal: Sequence[Entry] = ()) -> None:
        """Take in rows of a run, ndarray[n, columns] (SI), and its journal's new lines."""
        self._history.append(rows, journal)
        self._soon()

    def show_recording(self, recording: Recording, scales: Scales) -> None:
        """Show a finished run from end to end."""
        self.begin(scales)
        self.append(recording.rows, recording.journal)
        self.show_all()

    def show_limits(self, limits: Iterable[tuple[str, float]]) -> None:
        """Draw the names of limits at their volumes [m3]."""
        scales = self._scales
        assert scales is not None
        self.panes.show_limits((name, scales.in_unit(si, Dimension.VOLUME)) for name, si in limits)

    # Where it looks ----------------------------------------------------------------------------------------------

    @property
    def following(self) -> bool:
        """Whether the view moves with the present."""
        return self._following

    @property
    def now(self) -> float:
        """Time of the last row [s]; 0 before the first."""
        return self._history.now

    def follow(self) -> None:
        """Go to the present and stay there."""
        self._following = True
        self._soon()

    def show_last(self, length: float) -> None:
        """Show the last `length` [s] and follow the present."""
        self._length = length
        self.follow()

    def show_all(self) -> None:
        """Show everything from the start to the present, and stay there."""
        self._stop_following()
        self.panes.show_span(0.0, max(self.now, 1.0))

    def _stop_following(self) -> None:
        self._following = False
        self._soon()

    def point(self, time: float | None) -> None:
        """Read the values at a time [s]; None: read the present."""
        self._cursor = time
        self._soon()

    # Drawing -----------------------------------------------------------------------------------------------------

    def _soon(self) -> None:
        if not self._redraw_timer.isActive() and self.isVisible():
            self._redraw_timer.start()

    def redraw(self) -> None:
        """Draw what is to be seen now; the cost does not grow with the length of the run."""
        if self._scales is None:
            return
        if self._following:
            end = max(self.now, self._length)
            self.panes.show_span(end - self._length, end + AHEAD * self._length)
        self._draw_curves()
        self.panes.draw_grid()
        self._read()
        self.follow_button.setChecked(self._following)
        for name, one in self._spans.items():
            one.setEnabled(not (self._following and SPANS[name] == self._length))

    def _draw_curves(self) -> None:
        assert self._scales is not None
        start, end = self.panes.span()
        points = self.panes.width_of_plot()
        extents: dict[str, list[float]] = {"volume": [], "flow": [0.0], "output": []}
        for at, curve in enumerate(CURVES):
            if not self.keys[curve.column].isChecked():
                self.panes.draw(curve, np.empty(0), np.empty(0))
                continue
            times, values = self._history.drawn(at, start, end, points)
            shown = values.astype(np.float64) * self._scales.in_unit(1.0, curve.dimension)
            self.panes.draw(curve, times, shown)
            if shown.size:
                extents[curve.pane] += [float(shown.min()), float(shown.max())]
        self._fit(extents)

    def _fit(self, extents: dict[str, list[float]]) -> None:
        assert self._scales is not None
        step = self._scales.in_unit(self._scales.steps[Dimension.VOLUME], Dimension.VOLUME)
        if self.tank_button.isChecked():
            self.panes.show_range(0.0, 1.03 * self._scales.in_unit(self._scales.spill, Dimension.VOLUME))
        elif extents["volume"]:
            self.panes.fit("volume", min(extents["volume"]), max(extents["volume"]), 10 * step)
        least = 50 * self._scales.in_unit(self._scales.steps[Dimension.FLOW], Dimension.FLOW)
        self.panes.fit("flow", min(extents["flow"]), max(extents["flow"]), least)

    def _read(self) -> None:
        """Show the flags, and write the values at the cursor, or the present ones, beside the names of the curves."""
        assert self._scales is not None
        start, end = self.panes.span()
        room = (end - start) * FLAG_ROOM / self.panes.width_of_plot()
        self.panes.show_flags(self._history.flags(start, end, room))
        self.panes.show_cursor(self._cursor)
        time = self.now if self._cursor is None else self._cursor
        self.at.setText(f"{'now' if self._cursor is None else 'at'} {clock(time, end - start < 60)}")
        for curve, value in zip(CURVES, self._history.values(time), strict=True):
            self.keys[curve.column].tell(value, self._scales.units, self._scales.steps[curve.dimension])
        flag = self._history.last_flag() if self._cursor is None else self._history.flag_near(time, room / 2)
        self.said.setText(f"{clock(flag.time, True)}  {flag.words}" if flag else "")

    # Qt ----------------------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Left and right move the cursor, + and − zoom, Home goes to the start, End to the present, Esc clears."""
        start, end = self.panes.span()
        step = (end - start) / 100
        middle = (start + end) / 2 if self._cursor is None else self._cursor
        moves = {Qt.Key.Key_Left: -step, Qt.Key.Key_Right: step}
        zooms = {Qt.Key.Key_Plus: 0.5, Qt.Key.Key_Minus: 2.0}
        key = Qt.Key(event.key())
        if key in moves:
            self.point(min(max(middle + moves[key], 0.0), self.now))
        elif key in zooms:
            self._stop_following()
            self.panes.show_span(middle + (start - middle) * zooms[key], middle + (end - middle) * zooms[key])
        elif key == Qt.Key.Key_Home:
            self._stop_following()
            self.panes.show_span(0.0, end - start)
        elif key == Qt.Key.Key_End:
            self.follow()
        elif key == Qt.Key.Key_Escape and self._cursor is not None:
            self.point(None)
        else:
            super().keyPressEvent(event)

    def event(self, event: QEvent) -> bool:
        """Read the present when the pointer has gone, catch up when shown again, take the colours of a new theme."""
        kind = event.type()
        if kind == QEvent.Type.Leave:
            self.point(None)
        elif kind == QEvent.Type.PaletteChange:
            self.panes.dress(theme.current())
            self._soon()
        handled = super().event(event)
        if kind == QEvent.Type.Show:
            self._soon()
        return handled
