"""The truth table to edit, and beside it a drawn light that shows what the chosen rows give together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QFrame, QPushButton, QWidget

from levelbench.alarms.lamps import Show, hold_together, shown_by
from levelbench.gui.bench.stack_light import StackLight
from levelbench.gui.fields.lamp_grid import LampGrid
from levelbench.gui.look.parts import Seen, button, column, line, row, scrolling, text
from levelbench.gui.look.theme import GRID
from levelbench.project.records import LAMP_COLOURS, LAMP_MODES

if TYPE_CHECKING:
    from levelbench.gui.bench.live_pacer import LiveView
    from levelbench.gui.document.document import Document

_SIDE = 172  # px; the column of the drawn lights
_NO_RUN = "Nothing is on the bench yet."
_APART = "▲ The scan never brings these about at once."


class Drawn(QWidget):
    """A small light, what it shows in words, and the states that give it."""

    def __init__(self, show: Show) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self.light = StackLight()
        self.light.show_modes(modes_of(show))
        self.words = text(show.words, "strong", wrap=True)
        self.states = text(" with ".join(show.states), "small", wrap=True)
        self.setLayout(column(self.light, self.words, self.states, None, gap=2))


def modes_of(show: Show) -> dict[str, str]:
    """Give what each lamp does, as a drawn light takes it."""
    return {colour: LAMP_MODES[mode] for colour, mode in zip(LAMP_COLOURS, show.modes, strict=True)}


class LightsView(Seen):
    """The table, the light that the rows in hand give, and the light of the run with its test."""

    test_wanted = Signal(bool)  # the test button of the live light is pressed, or let go

    def __init__(self, document: Document) -> None:
        super().__init__()
        self.setProperty("role", "card")
        self._document = document
        self.table = LampGrid(document, ticks=True)
        self.light, self.words = StackLight(), text("", "strong", wrap=True)
        self.states, self.horn = text("", wrap=True), text("", wrap=True)
        self.answered = QCheckBox("acknowledged")
        self.answered.setAccessibleName("show the states in hand as acknowledged")
        self.untick = button("Take the ticks away", self.table.untick, "link", "show the row in hand alone again")
        self.live, self.live_words = StackLight(), text(_NO_RUN, wrap=True)
        self.live_horn, self.test = text("", wrap=True), QPushButton("Lamp test")
        self._place()
        self.answered.toggled.connect(lambda _on: self._show())
        self.table.tried.connect(self._show)
        self.test.toggled.connect(self.test_wanted)
        document.project_changed.connect(lambda _project: self._show())
        self._show()

    def _place(self) -> None:
        self.answered.setToolTip("what is shown once somebody has acknowledged; the horn is silent then")
        self.test.setCheckable(True)
        self.test.setAutoDefault(False)
        self.test.setEnabled(False)
        self.test.setAccessibleName("lamp test of the light on the bench: lights every lamp until it is pressed again")
        self.test.setToolTip("lights every lamp of the light on the bench, until it is pressed again")
        tried, live = text("The rows in hand show", "subheading", wrap=True), text("On the bench", "subheading")
        side = QFrame()
        side.setProperty("role", "on-card")
        side.setFixedWidth(_SIDE)
        parts = (tried, self.states, self.light, self.words, self.horn, self.answered, self.untick)
        rest = (line(), live, self.live, self.live_words, self.live_horn, self.test)
        side.setLayout(column(*parts, *rest, None, gap=GRID))
        both = row(gap=2 * GRID)
        both.addLayout(column(self.table, None), 1)
        both.addWidget(side)
        inside = QWidget()
        inside.setProperty("role", "on-card")
        inside.setLayout(both)
        layout = column(text("Stack light and horn: what each state shows", "heading"), scrolling(inside))
        layout.setContentsMargins(2 * GRID, GRID + 4, GRID, GRID + 4)
        self.setLayout(layout)

    def _show(self) -> None:
        """Show what the rows in hand give together."""
        states = self.table.states
        show, horn = shown_by(self._document.project, states, acknowledged=self.answered.isChecked())
        self.light.show_modes(modes_of(show))
        apart = "" if hold_together(states) else f"\n{_APART}"
        self.states.setText(f"{' with '.join(states)}{apart}")
        self.words.setText(show.words)
        self.horn.setText("♪ the horn sounds" if horn else "no horn")
        self.untick.setEnabled(len(states) > 1)

    def follow(self, view: LiveView, modes: dict[str, str]) -> None:
        """Show the light of the run as it is now."""
        self.test.setEnabled(True)
        self.live.show_modes(modes)
        said = "horn sounds" if view.has("horn") else "horn silenced" if view.has("silenced") else "horn silent"
        for label, words in ((self.live_words, self.live.words), (self.live_horn, f"♪ {said}")):
            if label.text() != words:
                label.setText(words)
