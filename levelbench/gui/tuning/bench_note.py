"""What the last change of the settings did on the running bench, measured before it and since."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QWidget

from levelbench.gui.look.parts import column, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.trend.clock import clock
from levelbench.gui.tuning.side_by_side import SideBySide
from levelbench.project import units
from levelbench.quantity import Dimension

if TYPE_CHECKING:
    from levelbench.gui.bench.live_pacer import LiveView
    from levelbench.gui.document.document import Document
    from levelbench.tuning.stretches import Compared, Stretches

EVERY = 500  # ms between two times that the note is written anew
WHILE_IT_RUNS = (
    "A setting that is changed while it runs goes in at the next scan without a bump. The journal keeps it, the trend "
    "has a flag for it, and above the figures the minutes before it and since stand side by side."
)


class BenchNote(QWidget):
    """Hears the run, and says what a change of the settings did."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._document = document
        self._stretches: Stretches | None = None
        self.sentence = text("", "body", wrap=True)
        self.besides = text("", "attention", wrap=True)
        self.table = SideBySide("before", "since")
        self._soon = QTimer(self, singleShot=True, interval=EVERY)
        self._soon.timeout.connect(self._show)
        self.setLayout(column(self.sentence, self.table, self.besides, gap=GRID // 2))
        self.hide()

    def begin(self) -> None:
        """The run begins again: what was measured belongs to another."""
        from levelbench.tuning.stretches import Stretches  # noqa: PLC0415  the rig has come in by now

        self._stretches = Stretches()
        self._soon.stop()
        self.hide()

    def take(self, view: LiveView) -> None:
        """Take in what the run has brought."""
        if self._stretches is None:
            self.begin()
        assert self._stretches is not None
        self._stretches.take(view.rows, view.journal)
        if self._stretches.change is not None and not self._soon.isActive():
            self._soon.start()

    def _show(self) -> None:
        shown_in = units(self._document.project)
        found = self._stretches.compare(shown_in) if self._stretches is not None else None
        if found is None:
            return
        self.show()
        self.sentence.setText(_words(found))
        enough = bool(found.before and found.since)
        self.table.setVisible(enough)
        if enough:
            self.table.show_figures(found.before, shown_in)
            self.table.compare(found.since)
        self.besides.setVisible(bool(found.besides))
        self.besides.setText(f"▲ Also changed in these minutes, so the two hardly compare: {', '.join(found.besides)}.")


def _words(found: Compared) -> str:
    """Say what was changed when, how long either stretch is, and what came of it."""
    from levelbench.quantity import show  # noqa: PLC0415

    before, since = (show(one / 60, Dimension.NUMBER, "", 0.1) for one in found.lengths)
    names = " and ".join(", ".join(found.change.names).rsplit(", ", 1))
    said = found.said or "Too short to tell yet: a minute of each is the least."
    at = clock(found.change.time)
    return f"{at} {names} changed on the bench. {said} Measured: {before} min before, {since} min since."
