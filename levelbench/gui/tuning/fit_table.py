"""What a fit found, under the record: each number with its interval and what is to be said of it, tests, warnings."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QGridLayout, QPushButton, QVBoxLayout, QWidget

from levelbench.gui.look.figures import reason_of
from levelbench.gui.look.parts import button, clear, holder, scrolling, text
from levelbench.gui.look.theme import GRID
from levelbench.tuning.identify.every import shown_error

if TYPE_CHECKING:
    from levelbench.quantity import Figure, Units
    from levelbench.tuning.identify.result import Estimate, Fit

NAME, VALUE, RANGE, WORDS, WHY = range(5)
_HEADS = ("found", "value", "95 % of the time within", "how surely", "")
_GOOD, _LOOK = "●", "▲"


class FitTable(QWidget):
    """A fit in words and numbers."""

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._reasons: dict[str, tuple[int, QFrame]] = {}
        self._grid = QGridLayout()
        self._grid.setContentsMargins(0, 0, GRID, 0)
        self._grid.setHorizontalSpacing(2 * GRID)
        self._grid.setVerticalSpacing(GRID // 2)
        self._grid.setColumnStretch(WORDS, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        inside = QVBoxLayout()
        inside.setContentsMargins(0, 0, 0, 0)
        inside.addLayout(self._grid)
        inside.addStretch(1)
        layout.addWidget(scrolling(holder(inside)))

    def words(self) -> list[str]:
        """Give every text of the table, line by line."""
        items = [self._grid.itemAt(at) for at in range(self._grid.count())]
        widgets = [item.widget() for item in items if item is not None]
        return [str(shown()) for one in widgets if (shown := getattr(one, "text", None)) is not None]

    def show_fit(self, fit: Fit, shown_in: Units, unit: str, foretold: Figure | None) -> None:
        """Show a fit; `unit` is that of the record's PV, `foretold` its error in a part that it was not shown."""
        self.clear()
        for column, head in enumerate(_HEADS):
            self._grid.addWidget(text(head, "small"), 0, column)
        at = 1
        for one in fit.estimates:
            self._estimate(one, shown_in, at)
            at += 2
        self._error(fit.rmse, shown_error(fit.rmse, fit.unit or unit, shown_in), "", at)
        at += 2
        if foretold is not None:
            words = "Fitted to the first 70 % of the record, asked for the rest."
            self._error(foretold, shown_error(foretold, unit, shown_in), words, at)
            at += 2
        for verdict in fit.tests:
            self._line(verdict.figure, f"{_GOOD if verdict.passed else _LOOK} {verdict.words}", at)
            at += 2

    def clear(self) -> None:
        """Show nothing."""
        self._reasons.clear()
        clear(self._grid)

    def _estimate(self, one: Estimate, shown_in: Units, at: int) -> None:
        role = "strong" if one.told_apart else "quiet"
        mark = "" if one.told_apart else f"{_LOOK} "
        self._put(text(f"{mark}{one.figure.name}", wrap=True), at, NAME)
        self._put(text(one.value(shown_in), role), at, VALUE, right=True)
        self._put(text(one.interval(shown_in), "body" if one.told_apart else "quiet"), at, RANGE)
        self._put(text(one.words, "small", wrap=True), at, WORDS)
        self._put(self._why(one.figure, at), at, WHY)

    def _error(self, figure: Figure, value: str, words: str, at: int) -> None:
        self._put(text(figure.name, wrap=True), at, NAME)
        self._put(text(value, "strong"), at, VALUE, right=True)
        self._put(text(words, "small", wrap=True), at, WORDS)
        self._put(self._why(figure, at), at, WHY)

    def _line(self, figure: Figure, words: str, at: int) -> None:
        self._grid.addWidget(text(words, "small", wrap=True), at, NAME, 1, WHY)
        self._put(self._why(figure, at), at, WHY)

    def _put(self, widget: QWidget, at: int, column: int, *, right: bool = False) -> None:
        side = Qt.AlignmentFlag.AlignRight if right else Qt.AlignmentFlag(0)
        wraps = column in (NAME, WORDS)
        self._grid.addWidget(widget, at, column, Qt.AlignmentFlag(0) if wraps else Qt.AlignmentFlag.AlignTop | side)

    def _why(self, figure: Figure, at: int) -> QPushButton:
        made = button(
            "why?", partial(self._toggle, figure, at), "link", f"why? formula, inputs, source of {figure.name}"
        )
        made.setCheckable(True)
        made.setProperty("help", f"figures#{figure.key}")
        return made

    def _toggle(self, figure: Figure, at: int) -> None:
        known = self._reasons.pop(figure.key, None)
        if known is not None:
            known[1].hide()
            known[1].deleteLater()
            return
        reason = reason_of(figure)
        self._grid.addWidget(reason, at + 1, NAME, 1, WHY + 1)
        self._reasons[figure.key] = (at + 1, reason)
