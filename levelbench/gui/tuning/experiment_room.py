"""The wide place of an experiment: what will happen, then its record and what that says, or the sheet by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QApplication, QFrame, QStackedWidget, QVBoxLayout, QWidget

from levelbench.gui.look.figures import FigureRow
from levelbench.gui.look.parts import button, clear, column, holder, line, row, scrolling, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.tuning.record_view import RecordView
from levelbench.project import units
from levelbench.tuning.experiments import KINDS, foreseen

if TYPE_CHECKING:
    from collections.abc import Sequence

    from levelbench.quantity import Units
    from levelbench.tuning.experiments import Experiment, Part, Plan

_WAITING = "The rig is being worked out."
_NOTHING = "Nothing to expect."
_STOPS = (
    "It also stops at any alarm that was not there before, when the switch opens, the sensor fails, the pump takes "
    "air, the reservoir runs low or full, or it takes too long. Mode, output, set point and drain are then put back."
)
OUTLOOK, RECORD, SHEET = range(3)


class ExperimentRoom(QFrame):
    """Three pages: what will happen, what the experiment gave, and how to do it by hand."""

    use_wanted, keep_wanted = Signal(), Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "card")
        self.view, self.ahead = RecordView(), RecordView()
        self.outlook, self.results, self.sheet = QVBoxLayout(), QVBoxLayout(), QVBoxLayout()
        for one in (self.outlook, self.results, self.sheet):
            one.setContentsMargins(0, 0, GRID, 0)
            one.setSpacing(GRID)
        self.use = button(
            "Use for rules and search",
            self.use_wanted.emit,
            "main",
            "rules and search take this process in place of the described one",
        )
        self.keep = button(
            "Keep record as CSV …", self.keep_wanted.emit, "", "write the first run's record, with journal"
        )
        self.copy = button("Copy the sheet", self._copy, "", "copy the sheet as text, for a print or a message")
        self.back = button("What will happen", self.show_outlook, "link", "see again what was said before it ran")
        self.shut = button("Leave the sheet", self.show_outlook, "link", "see what will happen")
        self.again = button("What it gave", self.show_record, "link", "see the record of the last run again")
        self.pages = QStackedWidget()
        self._parts: Sequence[Part] = ()
        self._build()
        self.forget()

    def _build(self) -> None:
        below = scrolling(holder(self.results))
        record = holder(column(self.view, below, row(self.use, self.keep, self.back, None), gap=GRID))
        inner = record.layout()
        assert isinstance(inner, QVBoxLayout)
        inner.setStretch(0, 5)
        inner.setStretch(1, 4)
        before = column(self.ahead, scrolling(holder(self.outlook)), row(self.again, None), gap=GRID)
        before.setStretch(0, 4)
        before.setStretch(1, 5)
        self.ahead.setAccessibleName("plot of what is expected")
        self.pages.addWidget(holder(before))
        self.pages.addWidget(record)
        self.pages.addWidget(holder(column(scrolling(holder(self.sheet)), row(self.copy, self.shut, None), gap=GRID)))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(GRID, GRID, GRID, GRID)
        layout.addWidget(self.pages)

    def forget(self) -> None:
        """Show that nothing has run."""
        clear(self.results)
        clear(self.outlook)
        self.ahead.show_words(_WAITING)
        self.again.hide()
        self.show_outlook()

    def show_outlook(self) -> None:
        """Show the page that says what will happen."""
        self.pages.setCurrentIndex(OUTLOOK)

    def show_record(self) -> None:
        """Show the page with the record."""
        self.pages.setCurrentIndex(RECORD)

    @property
    def page(self) -> int:
        """The page that is shown."""
        return self.pages.currentIndex()

    def show_plan(self, plan: Plan) -> None:
        """Say what will happen."""
        shown_in = units(plan.rig.project)
        self.ahead.show_record(foreseen(plan))
        clear(self.outlook)
        self.outlook.addWidget(text(f"What will happen: {KINDS[plan.kind]}", "heading"))
        for at, words in enumerate(plan.says, start=1):
            self.outlook.addWidget(_marked(f"{at}.", words))
        self.outlook.addWidget(text("What to expect, by the loop model", "subheading"))
        for one in plan.figures:
            self.outlook.addWidget(FigureRow(one, shown_in, "body"))
        self.outlook.addWidget(text(_STOPS, "small", wrap=True))
        self.outlook.addStretch(1)

    def refuse(self, reason: str) -> None:
        """Say why it can't be done as it is asked for."""
        self.ahead.show_words(_NOTHING)
        clear(self.outlook)
        self.outlook.addWidget(text("It can't be done so", "heading"))
        self.outlook.addWidget(text(f"■ {reason}", "stop-strong", wrap=True))
        self.outlook.addStretch(1)
        self.show_outlook()

    def show_experiment(self, done: Experiment) -> None:
        """Show what an experiment gave."""
        shown_in = units(done.plan.rig.project)
        self.view.show_record(done.measured)
        if done.process is not None:
            self.view.show_fit(done.measured.time, done.simulated)
        clear(self.results)
        for one in (*_headline(done), *_found(done, shown_in)):
            self.results.addWidget(one)
        self.results.addWidget(line())
        self.results.addWidget(text("What happened", "subheading"))
        self.results.addWidget(text("\n".join(done.happened), "small", wrap=True, selectable=True))
        self.results.addStretch(1)
        self.use.setEnabled(done.process is not None)
        self.again.show()
        self.show_record()

    def outdated(self) -> None:
        """Say that the project has changed since; what was measured is of the rig as it was."""
        self.use.setEnabled(False)

    def show_sheet(self, title: str, parts: Sequence[Part]) -> None:
        """Show how to do it by hand."""
        self._parts = parts
        clear(self.sheet)
        self.sheet.addWidget(text(title, "heading", wrap=True))
        for part in parts:
            self.sheet.addWidget(text(part.title, "subheading"))
            for at, words in enumerate(part.lines, start=1):
                self.sheet.addWidget(_marked(f"{at}." if part.steps else "–", words))
        self.sheet.addStretch(1)
        self.pages.setCurrentIndex(SHEET)

    def words(self) -> str:
        """Give the sheet as text."""
        lines: list[str] = []
        for part in self._parts:
            marks = (f"{at}." if part.steps else "-" for at in range(1, len(part.lines) + 1))
            lines += [part.title, *(f"  {mark} {words}" for mark, words in zip(marks, part.lines, strict=True)), ""]
        return "\n".join(lines)

    def _copy(self) -> None:
        QApplication.clipboard().setText(self.words())


def _marked(mark: str, words: str) -> QWidget:
    """Make a line that begins with a mark or a number."""
    said = text(mark, "quiet")
    said.setAlignment(Qt.AlignmentFlag.AlignTop)
    made = row(said, text(words, wrap=True, selectable=True))
    made.setStretch(1, 1)
    return holder(made)


def _headline(done: Experiment) -> list[QWidget]:
    if done.stopped:
        return [text(f"■ Stopped: {done.stopped}. Nothing is concluded from it.", "stop-strong", wrap=True)]
    return [text("What it says of the rig", "subheading")]


def _found(done: Experiment, shown_in: Units) -> list[QWidget]:
    """Give the estimates, each with its interval and beside the model, and the other figures."""
    made: list[QWidget] = []
    beside = {one.measured.figure.key: one for one in done.compared}
    for one in done.estimates:
        made.append(FigureRow(one.figure, shown_in))
        made.append(text(f"95 %: {one.interval(shown_in)}; {one.words}", "small", wrap=True))
        known = beside.get(one.figure.key)
        if known is not None:
            mark, role = ("●", "quiet") if known.agrees else ("▲", "attention")
            made.append(text(f"{mark} {known.words}", role, wrap=True))
    if done.figures:
        made += [line(), *(FigureRow(one, shown_in, "body") for one in done.figures)]
    return made
