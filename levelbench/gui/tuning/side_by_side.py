"""Figures in two columns, as before → after would hide which is which: what is, and beside it what would be or was."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel, QPushButton, QWidget

from levelbench.gui.look.figures import reason_of
from levelbench.gui.look.parts import button, clear, restyle, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.work.slices import Slices

if TYPE_CHECKING:
    from levelbench.quantity import Figure, Units

NAME, FIRST, SECOND, WHY = range(4)  # columns
_SAME, _NONE = "same", "–"


@dataclass
class _Row:
    """One figure: the labels of its line, and the box with its reason once it was asked for."""

    now: Figure
    first: QLabel
    second: QLabel
    why: QPushButton
    at: int  # its line in the grid; the reason is in the next
    reason: QFrame | None = None


class SideBySide(QWidget):
    """A table of figures with two columns; the second shows while there is something to compare with."""

    def __init__(self, first: str, second: str) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._names = (first, second)
        self._rows: dict[str, _Row] = {}
        self._units: Units | None = None
        self._then: dict[str, Figure] | None = None
        self._heads: tuple[QLabel, ...] = ()
        self._slices = Slices(self)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(GRID)
        self._grid.setVerticalSpacing(GRID // 2)
        self._grid.setColumnStretch(NAME, 1)

    @property
    def comparing(self) -> bool:
        """Whether the second column shows."""
        return self._then is not None

    def words(self) -> list[tuple[str, str, str]]:
        """Give what stands in each line: name, first, second ("" while nothing is compared)."""
        rows = self._rows.values()
        return [(row.now.name, row.first.text(), row.second.text() if self.comparing else "") for row in rows]

    def show_figures(self, figures: Sequence[Figure], shown_in: Units) -> None:
        """Show what is; lines that stay are written anew in their places, and nothing is compared with any more."""
        self._units, self._then = shown_in, None
        if [one.key for one in figures] != list(self._rows):
            self._make(figures)
            return
        for figure in figures:
            row = self._rows[figure.key]
            row.now = figure
            self._write(row)
        self._head()

    def compare(self, figures: Sequence[Figure] | None) -> None:
        """Show these beside what is, those that have the same key; None: nothing."""
        self._then = None if figures is None else {one.key: one for one in figures}
        for row in self._rows.values():
            self._write(row)
        self._head()

    def _make(self, figures: Sequence[Figure]) -> None:
        """Make the lines anew, one in a turn of the event loop."""
        self._slices.do(())
        clear(self._grid)
        self._rows.clear()
        self._heads = tuple(text(name, "small") for name in self._names)
        for column, head in zip((FIRST, SECOND), self._heads, strict=True):
            self._grid.addWidget(head, 0, column, Qt.AlignmentFlag.AlignRight)
        self._head()
        self._slices.do(partial(self._add, one, 2 * at + 1) for at, one in enumerate(figures))

    def _add(self, figure: Figure, at: int) -> None:
        name = text(figure.name, wrap=True)
        why = button(
            "why?", partial(self._toggle, figure.key), "link", f"why? formula, inputs, source of {figure.name}"
        )
        why.setCheckable(True)
        why.setProperty("help", f"figures#{figure.key}")  # the page and heading that F1 opens
        row = _Row(figure, text("", "strong"), text("", "strong"), why, at)
        self._rows[figure.key] = row
        top, right = Qt.AlignmentFlag.AlignTop, Qt.AlignmentFlag.AlignRight
        name.setAlignment(top)
        for label in (name, row.first, row.second):
            label.setContentsMargins(0, 2, 0, 0)  # as far down as the words of the button beside them
        self._grid.addWidget(name, at, NAME)
        self._grid.addWidget(row.first, at, FIRST, top | right)
        self._grid.addWidget(row.second, at, SECOND, top | right)
        self._grid.addWidget(why, at, WHY, top | right)
        self._write(row)

    def _head(self) -> None:
        for head in self._heads:
            head.setVisible(self.comparing)

    def _write(self, row: _Row) -> None:
        assert self._units is not None
        now = self._units.tell(row.now)
        row.first.setText(now)
        row.second.setVisible(self._then is not None)
        if self._then is not None:
            other = self._then.get(row.now.key)
            then = _NONE if other is None else self._units.tell(other)
            row.second.setText(_SAME if then == now else then)
            restyle(row.second, role="quiet" if then in (now, _NONE) else "strong")
        restyle(row.first, role="strong" if self._then is None else "body")
        if row.reason is not None:
            self._fold(row)
            if row.why.isChecked():
                self._unfold(row)

    def _toggle(self, key: str) -> None:
        row = self._rows[key]
        self._unfold(row) if row.why.isChecked() else self._fold(row)

    def _unfold(self, row: _Row) -> None:
        row.reason = reason_of((self._then or {}).get(row.now.key, row.now))
        self._grid.addWidget(row.reason, row.at + 1, 0, 1, WHY + 1)

    def _fold(self, row: _Row) -> None:
        if row.reason is not None:
            row.reason.hide()
            row.reason.deleteLater()
            row.reason = None
