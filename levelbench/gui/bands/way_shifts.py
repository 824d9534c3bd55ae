"""Shifts: many shifts by chance through the alarms, counted beside published figures, and what to change."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QVBoxLayout, QWidget

from levelbench.alarms.proof import prove
from levelbench.drawing.shifts import shift_picture
from levelbench.gui.bands.shifts_form import ShiftsForm
from levelbench.gui.bands.shifts_view import ShiftsView
from levelbench.gui.fields.entry_keys import in_words, name_of
from levelbench.gui.look.figures import FigureRow
from levelbench.gui.look.parts import button, clear, holder, line, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.ways.way import Way
from levelbench.gui.work.answers import words_of
from levelbench.gui.work.job_line import JobLine
from levelbench.gui.work.jobs import Job, Progress
from levelbench.project import ProjectProblems, units
from levelbench.quantity import QuantityError
from levelbench.rig import Cancelled

if TYPE_CHECKING:
    from levelbench.alarms.proof import Proof
    from levelbench.alarms.shifts import Use
    from levelbench.drawing.frame import Size as PaperSize
    from levelbench.drawing.scene import Scene
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers
    from levelbench.quantity import Units
    from levelbench.rig import Rig

_SAYS = (
    "Runs this very rig through shifts: liquid is drawn, the set point changed and the drain shut by chance. Somebody "
    "comes after each alarm, silences, acknowledges, resets, primes and tops up. Every alarm is counted."
)
_FIRST = ("per_hour", "chatter", "false", "missed")  # figures that stand on the card, each with its reason
_STOPPED = "You stopped this. Press “Run the shifts” to begin anew."
_OLD = "The project is another than that of these shifts. Press “Run the shifts” to count anew."


class Shifts(Way):
    """The boxes, the verdict and what to change on the card; the worst shift and the tables in the wide place."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self._rig: Rig | None = None
        self._found: Proof | None = None
        self.form, self.view, self.job_line = ShiftsForm(), ShiftsView(), JobLine()
        self.go = button("Run the shifts", self.begin, "main", "run as many shifts as stand in the box; about a minute")
        self.verdict = text("", wrap=True, selectable=True)
        self.figures = QVBoxLayout()
        self.take = button("", self._take, "", "change the alarm that is worst, one undo step")
        self.state = text("", "quiet", wrap=True)
        self._build()
        self.wide = self.view
        self._connect()
        if answers.checked is not None:
            self._new_rig(answers.checked.rig)
        self._say()

    def _build(self) -> None:
        self.figures.setContentsMargins(0, 0, 0, 0)
        self.figures.setSpacing(GRID - 2)
        parts: list[QWidget] = [text(_SAYS, "small", wrap=True), self.form, line(), self.verdict, self.take]
        parts.append(holder(self.figures))
        for part in parts:
            self.body.addWidget(part)
        self.take.hide()
        self.body.addStretch(1)
        self.foot.addWidget(self.state)
        self.foot.addWidget(self.job_line)
        self.foot.addLayout(row(self.go, None))

    def _connect(self) -> None:
        self.job_line.stopped.connect(self._stopped)
        self.answers.rig_changed.connect(self._new_rig)
        self.answers.state_changed.connect(lambda: self.when_seen(self._say))
        self.document.replaced.connect(self._forget)

    def begin(self) -> None:
        """Run the shifts that stand in the boxes."""
        rig = self._rig
        if rig is None:
            self._say()
            return
        try:
            shifts, seed, use = self.form.asked()
        except QuantityError:
            return  # it says so itself
        self.go.setEnabled(False)
        self.state.setText("")
        title = f"running {shifts} shifts"
        job = Job(self, _Work(rig, shifts, seed, use), self._show, self._failed, key="shifts", title=title)
        job.ended.connect(self._ended)
        self.job_line.follow(job)

    def _show(self, found: Proof) -> None:
        self._found = found
        shown_in = units(found.users.rig.project)
        self.verdict.setText(found.verdict)
        edits = found.advice.edits
        told = ", ".join(f"{name_of(key)} {in_words(value)}" for key, value in edits.items())
        self.take.setText(f"Take it: {told}")
        self.take.setVisible(bool(edits))
        self._tell(found, shown_in)
        words = (
            f"Shift {found.worst.shift + 1} of {found.shifts} was the worst: what came without its alarm counts first, "
            "then how many alarms came. Point at a number to see where it is from."
        )
        self.view.show_found(words, partial(_drawn, found, shown_in), found, shown_in)
        if found.users.rig is not self._rig:
            self.view.outdated(_OLD)

    def _tell(self, found: Proof, shown_in: Units) -> None:
        """Show the figures that count most, each with its reason."""
        clear(self.figures)
        for key in _FIRST:
            self.figures.addWidget(FigureRow(found.measure(key).figure, shown_in))

    def _failed(self, error: Exception) -> None:
        if not isinstance(error, Cancelled):
            self.state.setText(f"■ {words_of(error)}")

    def _ended(self) -> None:
        self.go.setEnabled(self._rig is not None)

    def _stopped(self) -> None:
        if self._found is None:
            self.view.forget(_STOPPED)
        else:
            self.state.setText(_STOPPED)

    def _take(self) -> None:
        """Put what is proposed into the project."""
        if self._found is None:
            return
        try:
            self.document.edit_several(dict(self._found.advice.edits), f"calm the alarm {self._found.advice.alarm}")
        except ProjectProblems as error:
            self.state.setText(f"✗ {error.problems[0].message}")

    def _new_rig(self, rig: Rig) -> None:
        self._rig = rig
        self.when_seen(self._propose)

    def _propose(self) -> None:
        if self._rig is not None:
            self.form.propose(units(self._rig.project))
            if self._found is not None and self._found.users.rig is not self._rig:
                self.view.outdated(_OLD)
                self.take.hide()
        self._say()

    def _forget(self, _project: object) -> None:
        """Another project is open: what was counted of the one before is gone."""
        self._rig = self._found = None
        self.verdict.setText("")
        clear(self.figures)
        self.take.hide()
        self.view.forget()
        self.form.as_assumed()

    def _say(self) -> None:
        trouble = self.answers.trouble
        waiting = self._rig is None and not trouble
        self.state.setText(f"■ {trouble}" if trouble else "The rig is being worked out." if waiting else "")
        self.go.setEnabled(self._rig is not None and not self.job_line.isVisible())


class _Work:
    """What a job has to do: run the shifts of a rig."""

    def __init__(self, rig: Rig, shifts: int, seed: int, use: Use) -> None:
        self._rig, self._shifts, self._seed, self._use = rig, shifts, seed, use

    def __call__(self, progress: Progress) -> Proof:
        return prove(self._rig, shifts=self._shifts, seed=self._seed, use=self._use, progress=progress)


def _drawn(found: Proof, shown_in: Units, size: PaperSize) -> Scene:
    return shift_picture(found, shown_in, size)
