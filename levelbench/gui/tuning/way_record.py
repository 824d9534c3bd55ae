"""Record: a file from the real rig goes in, its columns are confirmed, and what the rig is comes out of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QCheckBox

from levelbench.gui.document.file_drop import ask_for_record
from levelbench.gui.look.folded import Folded
from levelbench.gui.look.parts import button, column, holder, line, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.tuning.fit_part import FitPart
from levelbench.gui.tuning.record_columns import ColumnsForm
from levelbench.gui.tuning.record_room import RecordRoom
from levelbench.gui.tuning.record_view import RecordView
from levelbench.gui.ways.way import Way
from levelbench.gui.work.answers import words_of
from levelbench.gui.work.job_line import JobLine
from levelbench.gui.work.jobs import Job
from levelbench.project import units
from levelbench.quantity import Dimension
from levelbench.records import Guess, Measured, RecordError, look, read_measured
from levelbench.records.column_words import SAID
from levelbench.records.columns import OUTPUT, PV, ROLES, TIME
from levelbench.records.unit_words import COUNTS, SPAN, dimension_of
from levelbench.rig import Cancelled

if TYPE_CHECKING:
    from pathlib import Path

    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers
    from levelbench.quantity import Figure
    from levelbench.rig import Rig
    from levelbench.tuning.identify.result import Fit

_SAYS = (
    "Any table with columns for time, PV and output: a logger's file, a spreadsheet saved as CSV, a recording of the "
    "bench. You can drop the file on the window too."
)
_SOON = 250  # ms after the last change until the file is read again
_NOTES = 8  # shown before the rest is counted


def _may_be_of_rig(unit: str) -> bool:
    """Tell whether a PV in a unit can become the volume of a described rig."""
    return dimension_of(unit) in (Dimension.VOLUME, Dimension.LENGTH) or unit in ("mA", COUNTS, SPAN)


def _sees_alike(one: Rig, other: Rig) -> bool:
    """Tell whether two rigs make the same volume of a level and of a signal."""
    return (one.project.tank, one.project.sensor) == (other.project.tank, other.project.sensor)


class Record(Way):
    """The file and its columns on the card, the record itself in the wide place; the fits follow under the columns."""

    measured_changed = Signal(object)  # Measured, or None

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self.columns, self.view, self.job_line = ColumnsForm(), RecordView(), JobLine()
        self.room = RecordRoom(self.view)
        self.choose = button("Choose a file …", self._ask, "", "choose the file of a record")
        self.name = text("", "strong", wrap=True)
        self.how, self.taken = text("", "small", wrap=True), text("", "small", wrap=True)
        self.questions = text("", "attention", wrap=True)
        self.notes = text("", "small", wrap=True, selectable=True)
        self.state = text("", "refusal", wrap=True)
        self.confirm = button("It is as guessed", self._confirm, "link", "the columns are right as they were guessed")
        self._confirmed = False
        self.of_rig = QCheckBox("It is of this rig: a level becomes a volume by its table")
        self.measured: Measured | None = None
        self.guess: Guess | None = None
        self._rig: Rig | None = answers.checked.rig if answers.checked is not None else None
        self._soon = QTimer(self, singleShot=True, interval=_SOON)
        self._build()
        self._connect()
        self.wide = self.room

    @property
    def rig(self) -> Rig | None:
        """The rig that the record is of, where it is said to be of this one."""
        return self._rig if self.of_rig.isChecked() else None

    def _build(self) -> None:
        self.of_rig.setChecked(True)
        self._folded = Folded("columns and units", lambda: self.columns)
        self._folded.open()
        self.fits = FitPart(self.document, self.answers.evidence)  # what is fitted to the record
        self._found = holder(
            column(
                self.how,
                self.taken,
                self.questions,
                self.confirm,
                self._folded,
                self.of_rig,
                self.notes,
                line(),
                self.fits,
                gap=GRID,
            )
        )
        self.body.addWidget(text(_SAYS, "small", wrap=True))
        self.body.addLayout(row(self.choose, None))
        self.body.addWidget(self.name)
        self.body.addWidget(self.state)
        self.body.addWidget(self._found)
        self.body.addStretch(1)
        self.foot.addWidget(self.job_line)
        for part in (self.name, self.state, self._found):
            part.hide()

    def _connect(self) -> None:
        self.columns.changed.connect(self._soon.start)
        self.columns.changed.connect(self._ask_again)
        self.of_rig.toggled.connect(lambda _on: self._soon.start())
        self._soon.timeout.connect(self.read)
        self.answers.rig_changed.connect(self._new_rig)
        self.document.replaced.connect(lambda _project: self._new_rig(None))

        self.measured_changed.connect(self._fit_anew)
        self.fits.shown.connect(self._show_fit)
        self.fits.gone.connect(self.room.hide_fit)

    def _fit_anew(self, measured: Measured | None) -> None:
        """Another record is in hand, or none."""
        if measured is None:
            self.fits.forget()
        else:
            self.fits.take_record(measured, self.rig, units(self.document.project))

    def _show_fit(self, fit: Fit, foretold: Figure | None) -> None:
        if self.measured is not None:
            self.room.show_fit(fit, self.measured, units(self.document.project), foretold)

    def _ask(self) -> None:
        path = ask_for_record(self)
        if path is not None:
            self.open(path)

    def take_file(self, path: Path) -> None:
        """Open a record that was let go on the window."""
        self.open(path)

    def open(self, path: Path) -> None:
        """Look at a file, show how its columns are taken, and read it."""
        job = Job(self, lambda _progress: look(path), self._looked, self._failed, key="record", title="looking")
        self.job_line.follow(job)

    def _looked(self, guess: Guess) -> None:
        self.guess = guess
        self.name.setText(guess.path.name)
        self.how.setText(guess.dialect.words)
        if guess.questions or not all(guess.at(role) for role in (TIME, PV, OUTPUT)):
            self._folded.open()
        else:
            self._folded.shut()
        self.columns.show_guess(guess)
        self._confirmed = False
        self._ask_again()
        self.of_rig.setChecked(any(_may_be_of_rig(one.unit) for one in guess.guessed if one.role == PV))
        for part in (self.name, self._found):
            part.show()
        self.read()

    def _ask_again(self) -> None:
        """Show what is in doubt, until it is changed or confirmed."""
        asked = [] if self._confirmed else self.columns.questions()
        self.questions.setText("\n".join(f"▲ {one}" for one in asked))
        for part in (self.questions, self.confirm):
            part.setVisible(bool(asked))

    def _confirm(self) -> None:
        """Take the guess as right."""
        self._confirmed = True
        self._ask_again()
        self._folded.shut()

    def read(self) -> None:
        """Read the file with the columns as they are chosen now."""
        self._soon.stop()
        guess, columns, rig = self.guess, self.columns.columns(), self.rig
        if guess is None or columns is None:
            self._show(None, "Say which columns are the time, the PV and the output.")
            return
        job = Job(
            self,
            lambda progress: read_measured(guess.path, columns, rig, progress),
            lambda measured: self._show(measured, ""),
            self._failed,
            key="record",
            title="reading",
        )
        self.job_line.follow(job)

    def _failed(self, error: Exception) -> None:
        if isinstance(error, Cancelled):
            return
        said = isinstance(error, RecordError) and self.guess is not None and self.columns.refuse(error)
        self._show(None, "" if said else words_of(error))

    def _show(self, measured: Measured | None, trouble: str) -> None:
        """Show what was read, or why nothing was."""
        self.measured = measured
        self.taken.setText(self._taken())
        self.state.setText(f"✗ {trouble}" if trouble else "")
        self.state.setVisible(bool(trouble))
        notes = [] if measured is None else list(measured.notes)
        if len(notes) > _NOTES:
            notes[_NOTES:] = [f"And {len(notes) - _NOTES} more of the kind."]
        self.notes.setText("\n".join(notes) or ("Every row was read." if measured is not None else ""))
        self.notes.setVisible(measured is not None)
        if measured is None:
            self.view.show_words(trouble)
        else:
            self.view.show_record(measured)
        self.measured_changed.emit(measured)

    def _taken(self) -> str:
        """Say in a line which columns are which."""
        guess, rows = self.guess, self.columns.rows
        chosen = [(role, rows[role].at) for role in ROLES]
        named = [(SAID[role], guess.seen[at].header.shown) for role, at in chosen if at is not None and guess]
        return " · ".join(f"{role} “{name}”" for role, name in named)

    def _new_rig(self, rig: Rig | None) -> None:
        before, self._rig = self._rig, rig
        if self.guess is None or rig is None or not self.of_rig.isChecked():
            return
        if before is not None and self.measured is not None and _sees_alike(before, rig):
            self.fits.take_rig(rig, units(rig.project))
        else:
            self._soon.start()
