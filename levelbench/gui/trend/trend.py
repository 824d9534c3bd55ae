"""The trend: what the rig did over time, live or recorded. Follows the present until a person moves the view."""

from collections.abc import Callable, Iterable, Sequence
from functools import partial

from PySide6.QtCore import QEvent, Qt, QTimer
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QStackedWidget, QWidget

from levelbench.gui.look import theme
from levelbench.gui.look.parts import column, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.preferences import Preferences
from levelbench.gui.trend.choice import Choice
from levelbench.gui.trend.copy import Copies
from levelbench.gui.trend.draw import Drawn, draw
from levelbench.gui.trend.head import TrendHead
from levelbench.gui.trend.history import History
from levelbench.gui.trend.keyboard import press
from levelbench.gui.trend.panes import Panes
from levelbench.gui.trend.pens import CURVES, PANES
from levelbench.gui.trend.pyramid import Reals
from levelbench.gui.trend.scales import Scales
from levelbench.gui.trend.span import Span
from levelbench.quantity import Dimension, Units
from levelbench.rig.recording import Entry

FRAME = 33  # ms between two drawings at least
FLAG_ROOM = 12  # px that a flag takes; of several closer together the first alarm is shown
FINE = 120.0  # s shown below which the clock says tenths
HINT = "Nothing has run yet.\nPress Run, or F5, and the curves begin here."


class Trend(QFrame):
    """Panes of curves, a cursor that reads values, flags, spans to choose from, and a way back to the present."""

    def __init__(self, preferences: Preferences, panes: Panes | None = None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("role", "card")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("trend")
        self.panes = panes or Panes()
        self.keys = self.panes.keys()
        self.choice = Choice(preferences, self)
        self.copies = Copies(self.panes, self)
        self.head = TrendHead(self.choice.menu, self.copies.menu)
        self.hint = text(HINT, "quiet")
        self.hint.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._redraw_timer = QTimer(self, singleShot=True, interval=FRAME)
        self._redraw_timer.timeout.connect(self.redraw)
        self._scales: Scales | None = None
        self._limits: tuple[tuple[str, float], ...] = ()
        self._cursor: float | None = None
        self._chosen: int | None = None  # the number of the flag that the keyboard stands on
        self._history = History(Units("l", "mm", "l/min"))
        self.span = Span()
        self._place()
        self._connect()
        self._take_choice()
        self.panes.dress(theme.current())

    def _place(self) -> None:
        self._stack = QStackedWidget()
        self._stack.setProperty("role", "on-card")
        self._stack.addWidget(self.hint)
        self._stack.addWidget(self.panes)
        layout = column(self.head, self.copies.line, self._stack, gap=2)
        layout.setContentsMargins(GRID // 2, GRID // 2, GRID // 2, 2)
        layout.setStretch(2, 1)
        self.setLayout(layout)

    def _connect(self) -> None:
        self.panes.moved_by_hand.connect(lambda start, end: self.look(partial(self.span.move, start, end)))
        self.panes.pointed.connect(self.point)
        self.choice.changed.connect(self._take_choice)
        self.head.follow_wanted.connect(self.follow)
        self.head.span_wanted.connect(self.show_last)
        self.head.whole_wanted.connect(lambda: self.look(lambda _now: self.span.follow(whole=True)))
        for name, key in self.keys.items():
            key.clicked.connect(lambda _checked=False, pen=name: self.choice.put(pen, on=False))
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.customContextMenuRequested.connect(lambda at: self.copies.menu.popup(self.mapToGlobal(at)))

    # What is shown -----------------------------------------------------------------------------------------------

    def begin(self, scales: Scales) -> None:
        """Start afresh for a run in these scales."""
        self._scales = scales
        self._history = History(scales.units)
        self._cursor = self._chosen = None
        for kind in PANES:
            right = "%" if kind.name == "flow" else "mA"
            self.panes.panes[kind.name].name_units(scales.units.of(kind.dimension), right)
        self.show_limits(self._limits)
        self.follow()

    def append(self, rows: Reals, journal: Sequence[Entry] = ()) -> None:
        """Take in rows of a run, ndarray[n, columns] (SI), and its journal's new lines."""
        self._history.append(rows, journal)
        self._soon()

    def show_limits(self, limits: Iterable[tuple[str, float]]) -> None:
        """Take the names of limits and their volumes [m3]; they are drawn when the person asked for them."""
        self._limits = tuple(limits)
        if (scales := self._scales) is not None:
            shown = self._limits if self.choice.limits else ()
            self.panes.panes["tank"].show_limits((name, scales.in_unit(si, Dimension.VOLUME)) for name, si in shown)
        self._soon()

    def _take_choice(self) -> None:
        for pane in self.panes.panes.values():
            pane.show_pens(self.choice.pens)
        self.show_limits(self._limits)

    # Where it looks ----------------------------------------------------------------------------------------------

    @property
    def pointed_at(self) -> float | None:
        """The time [s] at which values are read; None: the present."""
        return self._cursor

    @property
    def now(self) -> float:
        """Time of the last row [s]; 0 before the first."""
        return self._history.now

    def look(self, move: Callable[[float], object]) -> None:
        """Move the view, knowing where the present is."""
        move(self.now)
        self._soon()

    def follow(self) -> None:
        """Go to the present and stay there."""
        self.look(lambda _now: self.span.follow(whole=self.span.whole))

    def show_last(self, length: float) -> None:
        """Show the last `length` [s] and follow the present."""
        self.look(lambda _now: self.span.follow(length))

    def point(self, time: float | None) -> None:
        """Read the values at a time [s]; None: read the present."""
        self._cursor, self._chosen = time, None
        self._soon()

    def step_to_flag(self, *, back: bool) -> None:
        """Put the cursor on the next flag, or the one before, and bring it into view."""
        here = self.now if self._cursor is None else self._cursor
        step = -1 if back else 1
        number = self._history.beside(here, back=back) if self._chosen is None else self._chosen + step
        if (flag := self._history.flag(number)) is not None:
            self.point(flag.time)
            self._chosen = number
            self.look(partial(self.span.reach, flag.time))

    # Drawing -----------------------------------------------------------------------------------------------------

    def _soon(self) -> None:
        if not self._redraw_timer.isActive() and self.isVisible():
            self._redraw_timer.start()

    def rest(self) -> None:
        """Draw no more by itself: the window is going."""
        self._redraw_timer.stop()
        self._redraw_timer.timeout.disconnect(self.redraw)

    def redraw(self) -> None:
        """Draw what is to be seen now; the cost does not grow with the length of the run."""
        if self._scales is None:
            return
        ran = self._history.rows > 1
        self._stack.setCurrentIndex(1 if ran else 0)
        self.panes.show_span(*self.span.shown(self.now))
        self.head.show_span(self.span, self.now)
        limits = self._limits if self.choice.limits else ()
        draw(self.panes, self._history, Drawn(self._scales, self.choice.pens, limits, self.choice.whole_tank))
        self.panes.draw_grid()
        self._read()

    def _read(self) -> None:
        """Show the flags, and write the values at the cursor, or the present ones, beside the names of the curves."""
        assert self._scales is not None
        start, end = self.panes.span()
        if self.span.following and self._cursor is not None and self._cursor < start:
            self._cursor = self._chosen = None  # the present has left it behind
        room = (end - start) * FLAG_ROOM / self.panes.width_of_plot()
        cursor = self._cursor
        time = self.now if cursor is None else cursor
        flag = self._history.flag(self._chosen)
        if flag is None and cursor is not None:
            flag = self._history.flag_near(time, room / 2)
        self.panes.show_cursor(cursor)
        self.panes.strip.show_flags(self._history.flags(start, end, room), flag)
        grain = self._history.grain(time) if cursor is not None else 0.0
        self.head.show_time(time, cursor=cursor is not None, parts=end - start < FINE, grain=grain)
        for curve, value in zip(CURVES, self._history.values(time), strict=True):
            self.keys[curve.column].tell(value, self._scales.units, self._scales.steps[curve.dimension])
        said = flag or (self._history.last_flag() if cursor is None else None)
        self.head.show_said(said.time, said.words) if said else self.head.said.setText("")

    # Qt ----------------------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Act on the keys of the trend."""
        if not press(self, event):
            super().keyPressEvent(event)

    def event(self, event: QEvent) -> bool:
        """Catch up when shown again, take the colours of a new theme and the marks of numbers."""
        kind = event.type()
        if kind in (QEvent.Type.PaletteChange, QEvent.Type.LocaleChange):
            self.panes.dress(theme.current())
            self._soon()
        handled = super().event(event)
        if kind == QEvent.Type.Show:
            self._soon()
        return handled
