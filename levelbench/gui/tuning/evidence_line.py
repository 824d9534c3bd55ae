"""A line that says which measured process a way of tuning uses, with a button to give it back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFrame

from levelbench.gui.look.parts import button, column, row, text
from levelbench.gui.look.theme import GRID

if TYPE_CHECKING:
    from levelbench.gui.work.evidence import Evidence


class EvidenceLine(QFrame):
    """Hidden while the rig is taken as it is described."""

    def __init__(self, evidence: Evidence) -> None:
        super().__init__()
        self.setProperty("role", "note")
        self._evidence = evidence
        self.words = text("", "small", wrap=True)
        self.back = button(
            "Take the rig as described", lambda: evidence.use(None), "link", "leave what the record says aside again"
        )
        layout = column(self.words, row(self.back, None), gap=GRID // 2)
        layout.setContentsMargins(GRID, GRID // 2, GRID, GRID // 2)
        self.setLayout(layout)
        evidence.changed.connect(self._say)
        self._say()

    def _say(self) -> None:
        found = self._evidence.found
        self.setVisible(found is not None)
        self.words.setText("" if found is None else f"From a record: {found.words}")
