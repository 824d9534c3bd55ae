"""The wide place of the rules: the table, the rule in hand over the present response, and what follows for this rig."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QButtonGroup, QFrame, QPushButton, QVBoxLayout

from levelbench.gui.look.parts import Note, choice, holder, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.tuning.response_plot import ResponsePlot
from levelbench.gui.tuning.rules_table import IN_THEORY, ON_RIG, Column, RulesTable
from levelbench.tuning.rules import NOW, Comparison, Refused, Ruled

if TYPE_CHECKING:
    from levelbench.quantity import Units

_WORKING = "Each rule is worked out for this rig and then run on it."


class RulesView(QFrame):
    """Shows a comparison; says which line is in hand."""

    chosen = Signal(object)  # Ruled or Refused

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "card")
        self._found: Comparison | None = None
        self._units: Units | None = None
        self.table = RulesTable()
        self.says = text(_WORKING, wrap=True)
        self.worst = text("", wrap=True)
        real = "with its noise, limits, dead zone and the drain's curve"
        self.on_rig = self._switch("this rig's run", real, ON_RIG)
        self.in_theory = self._switch("the linear loop", "no noise, no limits, no dead zone", IN_THEORY)
        self.step, self.load = ResponsePlot("step"), ResponsePlot("load")
        self.gains = Note("", "body")
        self._build()
        self._show_parts(there=False)
        self.table.chosen.connect(self._choose)

    def _switch(self, words: str, tip: str, columns: tuple[Column, ...]) -> QPushButton:
        return choice(words, partial(self.table.show_columns, columns), f"figures of {words}: {tip}", tip)

    def _build(self) -> None:
        group = QButtonGroup(self)
        for one in (self.on_rig, self.in_theory):
            group.addButton(one)
        self.on_rig.setChecked(True)
        self._switches = holder(row(text("figures of", "small"), self.on_rig, self.in_theory, None, gap=4))
        self._plots = holder(row(self.step, self.load, gap=2 * GRID))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(GRID + 4, GRID + 2, GRID + 4, GRID + 2)
        layout.setSpacing(GRID - 2)
        for part in (self.says, self.worst, self._switches):
            layout.addWidget(part)
        layout.addWidget(self.table, 1)
        layout.addWidget(self._plots)
        layout.addWidget(self.gains)
        layout.addStretch(0)

    def show_found(self, found: Comparison, shown_in: Units) -> None:
        """Show a comparison."""
        self._found, self._units = found, shown_in
        self.says.setText(f"✓ {found.verdict.best_words}" if found.verdict.best else found.verdict.best_words)
        self.worst.setText(f"■ {found.verdict.worst_words}" if found.verdict.worst else "")
        self.gains.words.setText(found.verdict.gain_words)
        self._show_parts(there=True)
        self.table.show_found(found, shown_in)

    def outdated(self, words: str) -> None:
        """Say in the first line that what is shown is no longer of this project, or why there is nothing."""
        self.says.setText(words)

    def _show_parts(self, *, there: bool) -> None:
        for part in (self.table, self._switches, self._plots):
            part.setVisible(there)
        self.worst.setVisible(bool(self.worst.text()))
        self.gains.setVisible(bool(self.gains.words.text()))

    def _choose(self, line: Ruled | Refused) -> None:
        """Plot the line in hand over what is."""
        if self._found is not None and self._units is not None:
            now = self._found.lines[0].prediction
            then = line.prediction if isinstance(line, Ruled) and line.key != NOW else None
            unit = self._units.volume
            self.step.show_lines(now.step, then.step if then else None, unit)
            self.load.setVisible(now.load is not None)
            if now.load is not None:
                self.load.show_lines(now.load, then.load if then else None, unit)
        self.chosen.emit(line)
