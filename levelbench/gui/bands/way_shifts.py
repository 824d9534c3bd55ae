"""Shifts: many shifts by chance through the alarms, counted beside published figures, and what to change."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from levelbench.alarms.proof import prove
from levelbench.drawing.shifts import shift_picture
from levelbench.gui.bands.shifts_form import ShiftsForm
from levelbench.gui.bands.shifts_view import ShiftsView
from levelbench.gui.fields.entry_keys import in_words, name_of
from levelbench.gui.look.figures import FigureRow
from levelbench.gui.look.parts import button, clear, column, holder, line, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.ways.on_rig import Asked, Work
from levelbench.project import units

if TYPE_CHECKING:
    from levelbench.alarms.proof import Proof
    from levelbench.alarms.shifts import Use
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers
    from levelbench.gui.work.jobs import Progress
    from levelbench.quantity import Units
    from levelbench.rig import Rig

_SAYS = (
    "Runs this very rig through shifts: liquid is drawn, the set point changed and the drain shut by chance. Somebody "
    "comes after each alarm, silences, acknowledges, resets, primes and tops up. Every alarm is counted."
)
_FIRST = ("per_hour", "chatter", "false", "missed")  # figures that stand on the card, each with its reason
_STOPPED = "You stopped this. Press “Run the shifts” to begin anew."
_OLD = "The project is another than that of these shifts. Press “Run the shifts” to count anew."


class Shifts(Asked["Proof"]):
    """The boxes, the verdict and what to change on the card; the worst shift and the tables in the wide place."""

    def __init__(self, document: Document, answers: Answers) -> None:
        go = "Run the shifts", "run as many shifts as stand in the box; about a minute"
        super().__init__(document, answers, go)
        self._found: Proof | None = None
        self.form, self.view = ShiftsForm(), ShiftsView()
        self.verdict = text("", wrap=True, selectable=True)
        self.figures = column(gap=GRID - 2)
        self.take = button("", self._take, "", "change the alarm that is worst, one undo step")
        self._build()
        self.wide = self.view
        self.job_line.stopped.connect(self._stopped)
        self.follow()

    def _build(self) -> None:
        parts: list[QWidget] = [text(_SAYS, "small", wrap=True), self.form, line(), self.verdict, self.take]
        parts.append(holder(self.figures))
        for part in parts:
            self.body.addWidget(part)
        self.take.hide()
        self.body.addStretch(1)

    def work(self, rig: Rig) -> Work[Proof]:
        """Run the shifts that stand in the boxes."""
        shifts, seed, use = self.form.asked()
        return Work(partial(_prove, rig, shifts, seed, use), f"running {shifts} shifts")

    def show_answer(self, found: Proof) -> None:
        """Show the verdict, what to change, and what was counted."""
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
        self.view.show_found(words, partial(shift_picture, found, shown_in), found, shown_in)
        if found.users.rig is not self.rig:
            self.view.outdated(_OLD)

    def _tell(self, found: Proof, shown_in: Units) -> None:
        """Show the figures that count most, each with its reason."""
        clear(self.figures)
        for key in _FIRST:
            self.figures.addWidget(FigureRow(found.measure(key).figure, shown_in))

    def _stopped(self) -> None:
        if self._found is None:
            self.view.forget(_STOPPED)
        else:
            self.state.setText(_STOPPED)

    def _take(self) -> None:
        """Put what is proposed into the project."""
        if self._found is not None:
            self.edit(self._found.advice.edits, f"calm the alarm {self._found.advice.alarm}")

    def take_up(self, rig: Rig) -> None:
        """Propose what the rig gives for the boxes; what was counted of the one before is old."""
        self.form.propose(units(rig.project))
        if self._found is not None and self._found.users.rig is not rig:
            self.view.outdated(_OLD)
            self.take.hide()

    def forget(self) -> None:
        """Show nothing of what was counted of the project before."""
        self._found = None
        self.verdict.setText("")
        clear(self.figures)
        self.take.hide()
        self.view.forget()
        self.form.as_assumed()


def _prove(rig: Rig, shifts: int, seed: int, use: Use, progress: Progress) -> Proof:
    """Run the shifts; on a working thread."""
    return prove(rig, shifts=shifts, seed=seed, use=use, progress=progress)
