"""The wide place of an answer that is a curve: why it is so, the curve, and under it what is chosen beside what is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Generic, TypeVar

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout

from levelbench.gui.look.parts import Fitted, button, column, holder, row, scrolling, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.tuning.side_by_side import SideBySide

if TYPE_CHECKING:
    from PySide6.QtWidgets import QLayout, QWidget

Found = TypeVar("Found")  # the answer
SIDE = 292  # px of what stands beside the table: a small flow and what it is fit in a line


class CurveView(Fitted, Generic[Found]):
    """Places the curve and what is chosen on it; says when that is to be taken."""

    wanted = Signal(object)  # what is chosen: its edits are to be made

    def __init__(self, curve: QWidget, first: str, take: tuple[str, str]) -> None:
        super().__init__()
        self.setProperty("role", "card")
        self.found: Found | None = None
        self._curve, self._first, self._why = curve, first, ""
        self.says = text(first, wrap=True, selectable=True)
        self.settings = text("", "subheading", wrap=True, selectable=True)
        self.table = SideBySide("now", "chosen")
        self.take = button(take[0], self._take, "main", take[1])

    @property
    def chosen(self) -> object | None:
        """What is chosen on the curve."""
        raise NotImplementedError

    def place(self, beside: QWidget, over: QLayout | None = None, under: QWidget | None = None) -> None:
        """Place everything: what is chosen over the table, `over` and `under` about its words, `beside` the table."""
        tables = QHBoxLayout()
        tables.setSpacing(2 * GRID)
        tables.addWidget(scrolling(holder(column(self.table, None))), 1)
        tables.addWidget(beside)
        head = row(self.settings, self.take)
        head.setStretch(0, 1)
        self._chosen = holder(column(*(one for one in (over, head, under, tables) if one is not None)))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(2 * GRID, GRID + 4, 2 * GRID, GRID + 4)
        layout.setSpacing(GRID)
        layout.addWidget(self.says)
        layout.addWidget(self._curve, 5)
        layout.addWidget(self._chosen, 4)
        layout.addStretch(0)
        self.show_parts(curve=False, chosen=False)

    def show_parts(self, *, curve: bool, chosen: bool) -> None:
        """Show the curve, and what is chosen."""
        self._curve.setVisible(curve)
        self._chosen.setVisible(chosen)

    def take_up(self, found: Found, why: str) -> None:
        """Take up an answer, and say why it is so."""
        self.found, self._why = found, why
        self.says.setText(why)

    def outdated(self) -> None:
        """Say that what is shown belongs to the project as it was."""
        if self.found is not None:
            self.says.setText(f"The project has changed since. {self._why}")

    def forget(self) -> None:
        """Show nothing: something else is in hand."""
        self.found = None
        self.says.setText(self._first)
        self.show_parts(curve=False, chosen=False)

    def _take(self) -> None:
        if self.chosen is not None:
            self.wanted.emit(self.chosen)
