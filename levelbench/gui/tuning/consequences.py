"""What a tuning does, and what another would do: a sentence and why, figures, margins as a picture, two plots.

The plots stand on a widget of their own, so that they can stay in sight while a value is dragged.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from levelbench.gui.look.parts import Note, button, column, holder, line, restyle, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.tuning.loop_picture import LoopPicture
from levelbench.gui.tuning.response_plot import ResponsePlot
from levelbench.gui.tuning.side_by_side import SideBySide

if TYPE_CHECKING:
    from levelbench.gui.work.answers import Tuned
    from levelbench.quantity import Figure

_LARGE = "Margins as a large picture"


class Consequences(QWidget):
    """Everything under the table of settings that follows from it."""

    wide_changed = Signal()

    def __init__(self, under_the_words: QWidget) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self.sentence, self.why = text("", "strong", wrap=True), text("", "small", wrap=True)
        self.step, self.load = ResponsePlot("set point step"), ResponsePlot("load step")
        self.table = SideBySide("as it is", "if taken")
        self.narrow, self.narrow_table = Note("", "small"), SideBySide("as it is", "if taken")
        self.large = button(_LARGE, self.wide_changed.emit, tip="show the margins in place of drawing and trend")
        self.large.setCheckable(True)
        self._now: Tuned | None = None
        self._tried: Tuned | None = None
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(GRID)
        self.plots = holder(column(line(), self.step, self.load))
        for part in (self.sentence, self.why, under_the_words, holder(row(self.large, None))):
            layout.addWidget(part)
        layout.addWidget(self.table)
        layout.addWidget(self.narrow)
        layout.addWidget(self.narrow_table)

    @cached_property
    def picture(self) -> LoopPicture:
        """The margins as a picture; made when it is first wanted."""
        made = LoopPicture()
        made.setProperty("help", "tune#the-loop-and-its-margins")
        made.done.connect(self.large.click)
        return made

    @property
    def wide(self) -> LoopPicture | None:
        """The picture while it is wanted."""
        if not self.large.isChecked():
            return None
        self._paint()
        return self.picture

    def show_tuning(self, tuned: Tuned, before: Tuned | None) -> None:
        """Show what is, and say what the change from an earlier tuning did if there is one."""
        self._now, self._tried = tuned, None
        self._tell(tuned, before)
        self._plot(tuned, None)
        self.load.setVisible(tuned.prediction.load is not None)
        self.table.show_figures(_figures(tuned), tuned.units)
        narrow = tuned.narrow
        for part in (self.narrow, self.narrow_table):
            part.setVisible(narrow is not None)
        if narrow is not None:
            self.narrow.words.setText(narrow.words)
            self.narrow_table.show_figures(narrow.figures, tuned.units)
        self._paint()

    def try_out(self, tried: Tuned) -> None:
        """Show beside what is what would be."""
        if self._now is None:
            return
        self._tried = tried
        self._tell(tried, self._now, "If taken: ")
        self._plot(self._now, tried)
        self.table.compare(_figures(tried))
        self._paint()

    def give_up(self) -> None:
        """Show only what is."""
        if self._now is None:
            return
        self._tried = None
        self._tell(self._now, None)
        self._plot(self._now, None)
        self.table.compare(None)
        self._paint()

    def _paint(self) -> None:
        if self.large.isChecked() and self._now is not None:
            self.picture.show_tuning(self._now, self._tried)

    def _plot(self, tuned: Tuned, tried: Tuned | None) -> None:
        unit = tuned.units.volume
        self.step.show_lines(tuned.prediction.step, tried.prediction.step if tried else None, unit)
        if tuned.prediction.load is not None:
            self.load.show_lines(tuned.prediction.load, tried.prediction.load if tried else None, unit)

    def _tell(self, tuned: Tuned, before: Tuned | None, lead: str = "") -> None:
        """Say what a tuning does, or what the change from another one to it did, and why."""
        from levelbench.tuning.effects import because, consequence, effect  # noqa: PLC0415  numpy is in by then

        if before is None:
            words, why = consequence(tuned.known), because(tuned.known, tuned.units)[0]
            words = words[0].upper() + words[1:]
        else:
            found = effect(before.known, tuned.known, tuned.units)
            words, why = f"{lead}{found.words}", found.why
        self.sentence.setText(words if tuned.margins.stable else f"■ {words}")
        restyle(self.sentence, role="strong" if tuned.margins.stable else "stop-strong")
        self.why.setText(why)
        self.why.setVisible(bool(why))


def _figures(tuned: Tuned) -> tuple[Figure, ...]:
    """Give every figure of a tuning: what the runs say, the margins, what the noise does to the output."""
    return (*tuned.prediction.figures, *tuned.margins.figures, tuned.known.noise)
