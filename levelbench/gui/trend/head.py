"""The line over the trend: the time that is read, what happened there, and the ways to look."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QMenu, QPushButton, QWidget

from levelbench.gui.look.elided import Elided
from levelbench.gui.look.parts import button, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.trend.clock import clock
from levelbench.gui.trend.span import SPANS, Span
from levelbench.quantity import written

WHOLE = "whole run"


class TrendHead(QWidget):
    """Time and words on the left; span, follow, pens and copies on the right."""

    span_wanted = Signal(float)  # [s]
    whole_wanted = Signal()
    follow_wanted = Signal()

    def __init__(self, pens: QMenu, copies: QMenu) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self.at = text("", "strong")
        self.said = Elided("quiet")
        self.span = QComboBox()
        self.span.addItems([*(f"last {name}" for name in SPANS), WHOLE])
        self.span.setAccessibleName("span of the trend")
        self.span.setToolTip("How much time is shown. The wheel and the keys + and − zoom.")
        self.span.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.follow_button = button("Follow", self.follow_wanted.emit, tip="go back to the present and stay there")
        self.follow_button.setCheckable(True)
        self.follow_button.setMinimumWidth(self._room(self.follow_button))  # bold when pressed
        self.pens_button = self._with_menu("Pens", pens, "choose what is drawn")
        self.copies_button = self._with_menu("Copy", copies, "copy or save what is shown")
        self._build()

    def _build(self) -> None:
        self.at.setMinimumWidth(self.fontMetrics().horizontalAdvance("now 000:00:00 "))
        layout = row(
            self.at, self.said, self.span, self.follow_button, self.pens_button, self.copies_button, gap=GRID // 2
        )
        layout.setStretch(1, 1)
        layout.setContentsMargins(GRID // 2, 0, 0, 0)
        self.setLayout(layout)
        self.span.activated.connect(self._chosen)

    @staticmethod
    def _room(one: QPushButton) -> int:
        return one.fontMetrics().horizontalAdvance(one.text()) + 5 * GRID

    def _with_menu(self, words: str, menu: QMenu, tip: str) -> QPushButton:
        made = button(words, lambda: None, tip=tip)
        made.setMenu(menu)
        made.setMinimumWidth(self._room(made) + 2 * GRID)
        return made

    def _chosen(self, at: int) -> None:
        if at < len(SPANS):
            self.span_wanted.emit(list(SPANS.values())[at])
        else:
            self.whole_wanted.emit()

    def show_span(self, span: Span, now: float) -> None:
        """Say which stretch is shown, and whether it follows the present."""
        start, end = span.shown(now)
        lengths = list(SPANS.values())
        if span.whole:
            at = len(SPANS)
        else:
            at = lengths.index(span.length) if span.following and span.length in lengths else -1
        self.span.setPlaceholderText(_length(end - start))
        if self.span.currentIndex() != at:
            self.span.setCurrentIndex(at)
        self.follow_button.setChecked(span.following)

    def show_said(self, time: float, words: str) -> None:
        """Say what happened at a time [s]."""
        self.said.setText(f"{clock(time, True)}  {words}")

    def show_time(self, time: float, *, cursor: bool, parts: bool, grain: float) -> None:
        """Say at which time the values are read, and to what they are known where rows were put together."""
        known = f" ±{written(grain / 2, '.1f')} s" if grain else ""
        self.at.setText(f"{'at' if cursor else 'now'} {clock(time, parts)}{known}")


def _length(seconds: float) -> str:
    """Write the length of a span in its best unit."""
    for name, unit in (("days", 86400.0), ("h", 3600.0), ("min", 60.0)):
        if seconds >= 2 * unit:
            return f"{written(seconds / unit, '.3g')} {name}"
    return f"{written(seconds, '.3g')} s"
