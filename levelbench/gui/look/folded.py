"""A heading that opens and closes what stands under it."""

from PySide6.QtWidgets import QVBoxLayout, QWidget

from levelbench.gui.look.parts import button, row
from levelbench.gui.look.theme import GRID


class Folded(QWidget):
    """A heading that opens and closes what stands under it."""

    def __init__(self, heading: str, inside: QWidget) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._heading = heading
        self.inside = inside
        self.fold = button("", self._toggle, "link", f"open or close: {heading}")
        self.fold.setCheckable(True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(GRID)
        layout.addLayout(row(self.fold, None))
        layout.addWidget(inside)
        self._toggle()

    def open(self) -> None:
        """Show what is inside."""
        self.fold.setChecked(True)
        self._toggle()

    def _toggle(self) -> None:
        opened = self.fold.isChecked()
        self.fold.setText(f"{'▾' if opened else '▸'} {self._heading}")
        self.inside.setVisible(opened)
