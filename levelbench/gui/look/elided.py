"""A line of text that gives way to its neighbours."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QLabel


class Elided(QLabel):
    """A line of text that ends in "…" where there is no room, and says all of it in its tooltip."""

    def __init__(self, role: str) -> None:
        super().__init__()
        self.setProperty("role", role)
        self.setTextFormat(Qt.TextFormat.PlainText)

    def setText(self, words: str) -> None:  # noqa: N802  Qt's name
        """Say something else."""
        if words != self.text():
            super().setText(words)
            self.setToolTip(words)
            self.setAccessibleName(words)

    def minimumSizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Give way to everything else."""
        return QSize(0, super().minimumSizeHint().height())

    def sizeHint(self) -> QSize:  # noqa: N802  Qt's name
        """Ask for no more than is left."""
        return self.minimumSizeHint()

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802  Qt's name
        """Write as much as there is room for."""
        painter = QPainter(self)
        painter.setPen(self.palette().color(self.foregroundRole()))
        words = self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideRight, self.width())
        painter.drawText(self.rect(), self.alignment(), words)
