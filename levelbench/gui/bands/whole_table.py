"""The whole ladder with every entry of every alarm side by side, in the room of drawing and trend."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout

from levelbench.gui.bands.alarm_table import AlarmTable
from levelbench.gui.bands.parts import PARTS
from levelbench.gui.bands.rows import HEIGHT, ROWS, SIGNAL, VOLUME
from levelbench.gui.look.parts import button, holder, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.work.slices import Slices

_HOW = (
    "Type into any cell or drag it; a bare number has the unit at the head of its column, any other unit will do. What "
    "stands out of order stays as you typed it: ■ and ▲ mark what the review has against a row."
)


class WholeTable(QFrame):
    """The large table under a heading, and the way back to the drawing; it scrolls where the window is too small."""

    made = Signal()  # every row is there

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "card")
        self.table = AlarmTable((VOLUME, HEIGHT, SIGNAL), PARTS, whole=False)
        self.back = button("Back to drawing and trend", lambda: None)
        inside = QVBoxLayout()
        inside.setContentsMargins(0, 0, 0, GRID)
        inside.setSpacing(GRID)
        inside.addWidget(self.table)
        inside.addWidget(text(_HOW, "small", wrap=True))
        inside.addStretch(1)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        area.setWidget(holder(inside))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(GRID, GRID + 4, GRID, GRID + 4)
        layout.setSpacing(GRID)
        layout.addLayout(row(text("The whole ladder", "heading"), None, self.back))
        layout.addWidget(area, 1)
        self.is_made = False
        self._making = Slices(self)

    def make(self) -> None:
        """Make the rows, one in a turn of the event loop."""
        if not self.table.rows:
            self._making.do((*(self.table.more for _ in ROWS), self._done))

    def _done(self) -> None:
        self.is_made = True
        self.made.emit()
