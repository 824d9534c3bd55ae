"""A new project from ten questions: one page each, any of them left open, nothing that was typed lost on the way.

The texts live in a `Notes` that outlives the window: closed half-way, the interview is taken up where it was left.
What the answers make of a rig is worked out in the background (`levelbench.review.fresh`).
"""

from collections.abc import Callable
from dataclasses import dataclass, field

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QDialog, QFrame, QStackedWidget, QWidget

from levelbench.gui.document.document import Document
from levelbench.gui.help.anywhere import explain
from levelbench.gui.interview.page import Page
from levelbench.gui.interview.steps import Steps
from levelbench.gui.look.parts import button, column, line, row, text
from levelbench.gui.look.switch import Switch
from levelbench.gui.look.theme import GRID
from levelbench.gui.preferences import UNITS, Preferences
from levelbench.gui.work.jobs import Job
from levelbench.project import Project, ProjectProblems, edit
from levelbench.project.interview import QUESTIONS, SYSTEMS, Answers, InterviewError, question_of
from levelbench.quantity import LevelBenchError

_WORKING = "Working out the project …"


@dataclass
class Notes:
    """What was said so far, and at which question."""

    texts: dict[str, str] = field(default_factory=dict)
    at: int = 0


class Interview(QDialog):
    """The ten questions; `made` gives the project when all are through."""

    made = Signal(object)  # Project

    def __init__(self, parent: QWidget | None, notes: Notes) -> None:
        super().__init__(parent)
        self.setWindowTitle("New project from ten questions – LevelBench")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.notes = notes
        self._job: Job[Project] | None = None
        self.steps = Steps()
        self.steps.chosen.connect(self.show_question)
        self.stack = QStackedWidget()
        self.pages = tuple(Page(question, notes.texts) for question in QUESTIONS)
        for page in self.pages:
            page.changed.connect(self._changed)
            page.entered.connect(self.forward)
            self.stack.addWidget(page)
        self.count, self.working = text("", "quiet"), text("", "quiet")
        self.back = button("‹ Back", self.backward, "", "to the question before; the answers stay")
        self.skip = button("Leave it open", self.leave_open, "", "go on; what is assumed stands on the page")
        self.next = button("Next ›", self.forward, "main", "to the next question")
        for one in (self.back, self.skip, self.next):
            Switch(one)
        self._place()
        self.resize(760, 520)
        explain(self, "questions")
        self.show_question(notes.at)

    def _place(self) -> None:
        side = QFrame()
        side.setProperty("role", "rail")
        side.setFixedWidth(232)
        side.setLayout(column(self.steps, None, gap=0))
        later = button("Close", self.reject, "", "what was said stays, and is taken up again (Esc)")
        right = column(self.count, self.stack, line(), row(later, self.working, None, self.back, self.skip, self.next))
        right.setContentsMargins(3 * GRID, 2 * GRID, 2 * GRID, 2 * GRID)
        right.setStretch(1, 1)
        layout = row(side, gap=0)
        layout.addLayout(right, 1)
        self.setLayout(layout)

    @property
    def at(self) -> int:
        """The question that is shown, from 0."""
        return self.stack.currentIndex()

    def show_question(self, at: int) -> None:
        """Show one question, with the keyboard in its first box."""
        self.notes.at = at
        self.stack.setCurrentIndex(at)
        self.pages[at].begin()
        self.setProperty("help", f"questions#question-{at + 1}")
        last = at == len(QUESTIONS) - 1
        self.count.setText(f"Question {at + 1} of {len(QUESTIONS)}")
        self.back.setEnabled(at > 0)
        self.next.setText("Make the project" if last else "Next ›")
        self.next.setAccessibleName("make the project" if last else "to the next question")
        self.skip.setVisible(not last)
        self.steps.show_answers(self.notes.texts, at)

    def backward(self) -> None:
        """Go to the question before."""
        if self.at > 0:
            self.show_question(self.at - 1)

    def leave_open(self) -> None:
        """Empty this question's answer and go on."""
        self.pages[self.at].clear()
        self.forward()

    def forward(self) -> None:
        """Go on when the answer can be read; make the project after the last."""
        if not self.pages[self.at].check():
            return
        if self.at < len(QUESTIONS) - 1:
            self.show_question(self.at + 1)
            return
        for number, page in enumerate(self.pages):
            if not page.check():
                self.show_question(number)
                page.check()
                return
        self._begin()

    def _changed(self) -> None:
        self._stop()
        self.steps.show_answers(self.notes.texts, self.at)

    def _stop(self) -> None:
        """Drop what is being worked out: an answer changed, or the window goes."""
        self.working.clear()
        if self._job is not None:
            self._job.cancel()
            self._job = None

    def _begin(self) -> None:
        answers = dict(self.notes.texts)
        self._stop()
        self.working.setText(_WORKING)
        self._job = Job(self, lambda _progress: _make(answers), self._made, self._refused, key="interview")

    def _made(self, project: Project) -> None:
        self.accept()
        self.made.emit(project)

    def _refused(self, error: Exception) -> None:
        """Go to the question that has to be answered otherwise, with the reason beside its box."""
        self.working.clear()
        if isinstance(error, InterviewError):
            at = question_of(error.key)
            self.show_question(at)
            self.pages[at].refuse(error.key, str(error))
            return
        reason = error.problems[0].message if isinstance(error, ProjectProblems) else str(error)
        if not isinstance(error, LevelBenchError):
            reason = f"This can't be made a project: {reason}"
        self.working.setText(f"✗ {reason}")

    def done(self, result: int) -> None:
        """Go; what was said stays in the notes."""
        self._stop()
        super().done(result)


class Interviews(QObject):
    """Opens the interview of a window, and puts what it makes in the place of the open project."""

    def __init__(
        self, window: QWidget, document: Document, may_go_on: Callable[[], bool], preferences: Preferences
    ) -> None:
        super().__init__(window)
        self._window, self._document, self._may_go_on = window, document, may_go_on
        self._preferences = preferences
        self._notes: Notes | None = None

    def open(self) -> None:
        """Begin the interview in the units that the person prefers, or take it up where it was left."""
        if self._notes is None:
            self._notes = Notes(_preferred(self._preferences))
        interview = Interview(self._window, self._notes)
        interview.made.connect(self._take)
        interview.open()

    def _take(self, project: Project) -> None:
        if self._may_go_on():
            paper = self._preferences.for_a_new_project(project).get("sheet.paper")
            made = edit(project, "sheet.paper", paper) if paper else project
            self._document.replace(made, None, edited=True)
            self._notes = None


def _preferred(preferences: Preferences) -> dict[str, str]:
    """Give the answer to the question about units that the preferences stand for, if there is one."""
    wanted = UNITS[preferences.units]
    named = {(one.volume, one.length, one.flow): name for name, one in SYSTEMS.items()}
    return {"units": named[wanted]} if wanted in named else {}


def _make(answers: Answers) -> Project:
    """Make the project, on a working thread: it brings the compiler in."""
    from levelbench.review.fresh import fresh  # noqa: PLC0415

    return fresh(answers)
