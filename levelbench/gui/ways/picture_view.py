"""Wide places with a picture, drawn for the room that there is, over something that scrolls: a table of words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QFrame, QGridLayout, QSizePolicy, QVBoxLayout, QWidget

from levelbench.gui.look.parts import clear, scrolling, text
from levelbench.gui.look.scene_view import Drawn
from levelbench.gui.look.theme import GRID

if TYPE_CHECKING:
    from levelbench.gui.look.scene_view import Draw

_LEAST = 260  # px of a picture's height


class Picture(Drawn):
    """A drawing that takes the room that there is."""

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def minimumSizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Give the room in which lines can be told apart."""
        return QSize(320, _LEAST)


class Rows(QWidget):
    """A table of words; the first column is what a row is about, the others stand flush right."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self.setAccessibleName(name)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, GRID, 0)
        self._grid.setHorizontalSpacing(GRID + 4)
        self._grid.setVerticalSpacing(3)
        self._grid.setColumnStretch(0, 1)
        self.cells: list[tuple[str, ...]] = []

    def show_rows(self, head: Sequence[str], rows: Sequence[Sequence[str]], strong: int = -1) -> None:
        """Show rows under a head; `strong` is the row that stands out."""
        clear(self._grid)
        self.cells = [tuple(one) for one in rows]
        for at, row in enumerate((head, *rows)):
            role = "small" if at == 0 else "strong" if at - 1 == strong else "body"
            for column, words in enumerate(row):
                cell = text(words, role, wrap=column == 0, selectable=at > 0)
                side = Qt.AlignmentFlag.AlignLeft if column == 0 else Qt.AlignmentFlag.AlignRight
                cell.setAlignment(side | Qt.AlignmentFlag.AlignVCenter)
                self._grid.addWidget(cell, at, column)


class PictureView(QFrame):
    """A sentence, the picture, and what stands under it, which scrolls where the window is low."""

    def __init__(self, waiting: str, picture: str, under: QWidget, shares: tuple[int, int] = (3, 2)) -> None:
        super().__init__()
        self.setProperty("role", "card")
        self._waiting = waiting
        self.says, self.picture, self.under = text(waiting, wrap=True), Picture(picture), scrolling(under)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(2 * GRID, GRID + 4, 2 * GRID, GRID + 4)
        layout.setSpacing(GRID)
        layout.addWidget(self.says)
        layout.addWidget(self.picture, shares[0])
        layout.addWidget(self.under, shares[1])
        layout.addStretch(0)
        self.picture.hide()
        self.under.hide()

    def forget(self, words: str = "") -> None:
        """Show nothing, and say why."""
        self.says.setText(words or self._waiting)
        self.picture.hide()
        self.under.hide()

    def outdated(self, words: str) -> None:
        """Say that what is shown is of an older project."""
        self.says.setText(words)

    def show_picture(self, words: str, draw: Draw) -> None:
        """Show a sentence and a drawing, and what stands under them."""
        self.says.setText(words)
        self.picture.show_drawn(draw)
        self.picture.show()
        self.under.show()


class EvidenceView(PictureView):
    """What was tried on the same runs: the picture over a table."""

    def __init__(self, waiting: str, picture: str, table: str) -> None:
        rows = Rows(table)
        super().__init__(waiting, picture, rows)
        self.rows = rows

    def show_found(
        self, words: str, draw: Draw, head: Sequence[str], rows: Sequence[Sequence[str]], strong: int = -1
    ) -> None:
        """Show a sentence, a drawing and a table; `strong` is the row that stands out."""
        self.rows.show_rows(head, rows, strong)
        self.show_picture(words, draw)
