"""A computed number on a card: its name, its value, and "why?", which opens formula, inputs and source under it."""

from PySide6.QtWidgets import QFrame, QLabel, QVBoxLayout, QWidget

from levelbench.gui.help.figure_help import meaning
from levelbench.gui.look.parts import button, column, row, text
from levelbench.gui.look.theme import GRID
from levelbench.quantity import Figure, Units


class FigureRow(QWidget):
    """One figure in one line; what it rests on stays folded away until it is asked for."""

    def __init__(self, figure: Figure, units: Units, role: str = "strong") -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self.figure = figure
        self._units = units
        self.setProperty("help", f"figures#{figure.key}")  # the page and heading that F1 opens
        self.value = text(self._words(figure), role)
        self.why = button("why?", self._toggle, "link", f"why? formula, inputs and source of {figure.name}")
        self.why.setCheckable(True)
        self._reason: QFrame | None = None
        name = text(figure.name, wrap=True)
        line = row(name, self.value, self.why)
        line.setStretch(0, 1)
        self._layout = column(line, gap=GRID // 2)
        self.setLayout(self._layout)

    def compare(self, after: Figure | None) -> None:
        """Show what it would become beside what it is, where the two differ as shown; None: only what it is."""
        now = self._words(self.figure)
        then = now if after is None else self._words(after)
        self.value.setText(now if then == now else f"{now} → {then}")

    def _words(self, figure: Figure) -> str:
        return self._units.tell(figure)

    def _toggle(self) -> None:
        if self._reason is None:
            self._reason = reason_of(self.figure)
            self._layout.addWidget(self._reason)
        self._reason.setVisible(self.why.isChecked())


def reason_of(figure: Figure) -> QFrame:
    """Make the box that says where a figure comes from."""
    box = QFrame()
    box.setProperty("role", "note")
    layout = QVBoxLayout(box)
    layout.setContentsMargins(GRID, GRID - 2, GRID, GRID - 2)
    layout.setSpacing(3)
    if (known := meaning(figure.key)) is not None:
        layout.addWidget(text(known.says, wrap=True, selectable=True))
        layout.addWidget(text(f"In the trade: {known.term}.", "quiet", wrap=True, selectable=True))
    layout.addWidget(text(figure.formula, wrap=True, selectable=True))
    for name, value in figure.inputs:
        line = row(_quiet(name), text(value, "body"))
        line.setStretch(0, 1)
        layout.addLayout(line)
    layout.addWidget(text(f"Source: {figure.source}", "small", wrap=True, selectable=True))
    return box


def _quiet(words: str) -> QLabel:
    return text(words, "quiet", wrap=True)
