"""A heading that opens and closes what stands under it."""

from collections.abc import Callable

from PySide6.QtWidgets import QVBoxLayout, QWidget

from levelbench.gui.look.parts import button, row
from levelbench.gui.look.theme import GRID
from levelbench.gui.look.turns import put_in_turn


class Folded(QWidget):
    """A heading that opens and closes what stands under it; that is made when it is opened first."""

    def __init__(self, heading: str, make: Callable[[], QWidget]) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._heading = heading
        self._make = make
        self._inside: QWidget | None = None
        self.fold = button("", self._toggle, "link", f"open or close: {heading}")
        self.fold.setCheckable(True)
        layout = self._column = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(GRID)
        layout.addLayout(row(self.fold, None))
        self._toggle()

    def open(self) -> None:
        """Show what is inside."""
        self.fold.setChecked(True)
        self._toggle()

    def shut(self) -> None:
        """Hide what is inside."""
        self.fold.setChecked(False)
        self._toggle()

    def _toggle(self) -> None:
        opened = self.fold.isChecked()
        self.fold.setText(f"{'▾' if opened else '▸'} {self._heading}")
        if opened and self._inside is None:
            self._inside = self._make()
            self._column.addWidget(self._inside)
            put_in_turn(self._inside, self.fold)
        if self._inside is not None:
            self._inside.setVisible(opened)
