"""What a fit found, under the record: each number with its interval and what is to be said of it, tests, warnings."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QGridLayout, QPushButton, QVBoxLayout, QWidget

from levelbench.gui.look.figures import reason_of
from levelbench.gui.look.parts import button, holder, scrolling, text
from levelbench.gui.look.theme import GRID
from levelbench.tuning.identify.every import shown_error

if TYPE_CHECKING:
    from levelbench.quantity import Figure, Units
    from levelbench.tuning.identify.result import Estimate, Fit

NAME, VALUE, RANGE, WHY = range(4)
_HEADS = ("what was found", "value", "95 % interval", "")
_GOOD, _LOOK = "●", "▲"


class FitTable(QWidget):
    """A fit in words and numbers."""

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._reasons: dict[str, QFrame] = {}
        self._grid = QGridLayout()
        self._area = scrolling(holder(self._grid))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self._area)

    def words(self) -> list[str]:
        """Give every text of the table, line by line."""
        held = self._grid.parentWidget()
        inside = held.findChildren(QWidget, options=Qt.FindChildOption.FindDirectChildrenOnly) if held else []
        return [str(shown()) for one in inside if (shown := getattr(one, "text", None)) is not None]

    def show_fit(self, fit: Fit, shown_in: Units, unit: str, foretold: Figure | None) -> None:
        """Show a fit; `unit` is that of the record's PV, `foretold` its error in a part that it was not shown."""
        self._grid = self._empty()
        for column, head in enumerate(_HEADS):
            self._grid.addWidget(text(head, "small"), 0, column)
        at = 1
        for one in fit.estimates:
            self._estimate(one, shown_in, at)
            at += 3
        self._error(fit.rmse, shown_error(fit.rmse, fit.unit or unit, shown_in), at)
        at += 3
        if foretold is not None:
            self._error(foretold, shown_error(foretold, unit, shown_in), at)
            at += 3
        for verdict in fit.tests:
            self._line(verdict.figure, f"{_GOOD if verdict.passed else _LOOK} {verdict.words}", at)
            at += 3
        self._grid.setRowStretch(at, 1)
        self._area.setWidget(holder(self._grid))

    def _empty(self) -> QGridLayout:
        """Make a grid with nothing in it: one that was filled before keeps the heights of its rows."""
        self._reasons.clear()
        grid = QGridLayout()
        grid.setContentsMargins(0, 0, GRID, 0)
        grid.setHorizontalSpacing(2 * GRID)
        grid.setVerticalSpacing(2)
        grid.setColumnStretch(NAME, 1)
        return grid

    def _estimate(self, one: Estimate, shown_in: Units, at: int) -> None:
        role = "strong" if one.told_apart else "quiet"
        mark = "" if one.told_apart else f"{_LOOK} "
        self._put(text(f"{mark}{one.figure.name}", wrap=True), at, NAME)
        self._put(text(one.value(shown_in), role), at, VALUE)
        self._put(text(one.interval(shown_in), "body" if one.told_apart else "quiet"), at, RANGE)
        self._put(self._why(one.figure, at), at, WHY)
        if one.words:
            self._grid.addWidget(text(one.words, "small", wrap=True), at + 1, NAME, 1, WHY)

    def _error(self, figure: Figure, value: str, at: int) -> None:
        self._put(text(figure.name, wrap=True), at, NAME)
        self._put(text(value, "strong"), at, VALUE)
        self._put(self._why(figure, at), at, WHY)

    def _line(self, figure: Figure, words: str, at: int) -> None:
        self._grid.addWidget(text(words, "small", wrap=True), at, NAME, 1, WHY)
        self._put(self._why(figure, at), at, WHY)

    def _put(self, widget: QWidget, at: int, column: int) -> None:
        top, right = Qt.AlignmentFlag.AlignTop, Qt.AlignmentFlag.AlignRight
        if column == NAME:
            self._grid.addWidget(widget, at, column)
        else:
            self._grid.addWidget(widget, at, column, top | right if column == VALUE else top)

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
            known.hide()
            known.deleteLater()
            return
        self._reasons[figure.key] = reason_of(figure)
        self._grid.addWidget(self._reasons[figure.key], at + 2, NAME, 1, WHY + 1)
