"""Fitting a record, on the card: which model, the fit with a way out, what was found in a sentence, and what to do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QWidget

from levelbench.gui.look.parts import button, column, row, text
from levelbench.gui.work.answers import words_of
from levelbench.gui.work.evidence import FoundProcess
from levelbench.gui.work.job_line import JobLine
from levelbench.gui.work.jobs import Job
from levelbench.project import ProjectProblems
from levelbench.quantity import Dimension
from levelbench.rig import Cancelled
from levelbench.tuning.identify.estimates import JUDGED
from levelbench.tuning.identify.every import ALL, TITLES, Weighed, models_for, shown_error, weigh

if TYPE_CHECKING:
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.evidence import Evidence
    from levelbench.project import Value
    from levelbench.quantity import Units
    from levelbench.records.measured import Measured
    from levelbench.rig import Rig
    from levelbench.tuning.identify.result import Estimate

_ALL = "all, and say which to take"
_FIRST = "What does the record come down to? Fit finds it, and says how surely."


class FitPart(QWidget):
    """Fits the record in hand, and says which fit is shown."""

    shown = Signal(object, object)  # Fit, and its error in the held-out part: a Figure or None
    gone = Signal()  # no fit is in hand any more

    def __init__(self, document: Document, evidence: Evidence) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self._document, self._evidence = document, evidence
        self._job: Job[Weighed] | None = None
        self._record: tuple[Measured, Rig | None, Units] | None = None
        self._weighed: Weighed | None = None
        self.model, self.found, self.job_line = QComboBox(), QComboBox(), JobLine()
        self.go = button("Fit", self.begin, "main", "fit the chosen model to the record")
        self.says, self.trouble = text(_FIRST, "small", wrap=True), text("", "stop-strong", wrap=True)
        self.use = button(
            "Use for rules and search",
            self._use,
            tip="rules and search take this process in place of the described one",
        )
        self.apply = button(
            "Apply to the project", self._apply, "main", "put what was found into the project, one step"
        )
        self.warnings, self.changes = text("", "small", wrap=True), text("", wrap=True)
        self._build()
        self.forget()

    def _build(self) -> None:
        self.model.setAccessibleName("model to fit")
        self.found.setAccessibleName("fit to show")
        for box in (self.model, self.found):  # never as wide as its longest words: the card would push the window
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            box.setMinimumContentsLength(12)
        self.found.currentIndexChanged.connect(self._show)
        line = row(self.model, self.go)
        line.setStretch(0, 1)
        self.setLayout(
            column(
                text("What the rig is", "subheading"), line, self.job_line, self.trouble, self.says, self.found,
                self.warnings, self.changes, row(self.use, self.apply, None),
            )
        )  # fmt: skip

    def take_record(self, measured: Measured, rig: Rig | None, shown_in: Units) -> None:
        """Take a record to fit; with a rig it is one of it."""
        self.forget()
        self._record = (measured, rig, shown_in)
        kept = self.model.currentData()
        self.model.clear()
        self.model.addItem(_ALL, ALL)
        for key in models_for(rig):
            self.model.addItem(TITLES[key], key)
        self.model.setCurrentIndex(max(self.model.findData(kept), 0))
        self.model.setEnabled(True)
        self.go.setEnabled(True)

    def take_rig(self, rig: Rig, shown_in: Units) -> None:
        """Go on with the record in hand on a rig that was changed and sees it as before."""
        if self._record is not None:
            self._record = (self._record[0], rig, shown_in)
            self._show(self.found.currentIndex())

    def forget(self) -> None:
        """No record is in hand, or another one."""
        self._record = self._weighed = None
        if self._job is not None:
            self._job.cancel()  # what it finds is of another record
            self._job = None
        self.go.setEnabled(False)
        self.model.setEnabled(False)
        self.trouble.hide()
        self.says.setText(_FIRST)
        self._clear()
        self.gone.emit()

    def _clear(self) -> None:
        for part in (self.found, self.use, self.apply, self.warnings, self.changes):
            part.hide()

    def begin(self) -> None:
        """Fit what is chosen."""
        if self._record is None:
            return
        measured, rig, _ = self._record
        chosen = str(self.model.currentData())
        models = models_for(rig) if chosen == ALL else (chosen,)
        self.go.setEnabled(False)
        self.trouble.hide()
        job = self._job = Job(
            self,
            lambda progress: weigh(measured, models, rig, progress),
            self._found,
            self._failed,
            key="fit",
            title="fitting",
        )
        job.ended.connect(lambda: self.go.setEnabled(self._record is not None))
        self.job_line.follow(job)

    def _found(self, weighed: Weighed) -> None:
        if self._record is None:
            return
        measured, _, shown_in = self._record
        self._weighed = weighed
        self.found.blockSignals(True)
        self.found.clear()
        for fit, error in zip(weighed.fits, weighed.foretold, strict=True):
            strays = "" if error is None else f" · strays {shown_error(error, measured.pv_unit, shown_in)}"
            self.found.addItem(f"{fit.title}{strays}")
        self.found.setCurrentIndex(weighed.taken)
        self.found.blockSignals(False)
        self.says.setText(weighed.words or f"Found: {weighed.fits[0].title}.")
        self._show(weighed.taken)

    def _failed(self, error: Exception) -> None:
        if not isinstance(error, Cancelled):
            self.trouble.setText(f"■ {words_of(error)}")
            self.trouble.show()

    def _show(self, at: int) -> None:
        """Show one of the fits."""
        if self._weighed is None or self._record is None or at < 0:
            return
        fit = self._weighed.fits[at]
        self._clear()
        self.found.setVisible(len(self._weighed.fits) > 1)
        self.found.setToolTip(self.found.currentText())
        tests = {one.words for one in fit.tests}  # they stand in the table
        warned = (*(one for one in fit.warnings if one not in tests), *self._weighed.refused.values())
        self.warnings.setText("\n".join(f"▲ {one}" for one in warned))
        self.warnings.setVisible(bool(warned))
        measured, rig, _ = self._record
        fits = rig is not None and measured.pv_dimension is Dimension.VOLUME
        self.use.setVisible(fits and fit.process is not None)
        self.apply.setVisible(bool(fit.edits))
        changes = [f"{_name(key)}: {self._now(key)} → {value}" for key, value in fit.edits.items()]
        self.changes.setText("\n".join(("It would change in the project:", *changes)))
        self.changes.setVisible(bool(changes))
        self.shown.emit(fit, self._weighed.foretold[at])

    def _now(self, key: str) -> str:
        """Give what stands in the project now."""
        section, _, name = key.partition(".")
        there = getattr(getattr(self._document.project, section, None), name, None)
        return str(getattr(there, "text", there)) if there is not None else "as by default"

    def _use(self) -> None:
        """Have the other ways of tuning use the process that is shown."""
        if self._weighed is None or self._record is None:
            return
        fit, shown_in = self._weighed.fits[self.found.currentIndex()], self._record[2]
        if fit.process is None:
            return
        known = {one.figure.key: one for one in fit.estimates}
        slopes, dead_times = (_interval(known.get(key)) for key in ("fit.slope", "fit.dead_time"))
        told = [f"{one.figure.name} {one.value(shown_in)}" for key, one in known.items() if key in JUDGED]
        words = f"“{self._record[0].name}”, {fit.title}" + (f": {', '.join(told)}." if told else ".")
        self._evidence.use(FoundProcess(fit.process, slopes, dead_times, words))
        self.says.setText("Rules and search use it from here on; each of them says so, and gives it back there.")

    def _apply(self) -> None:
        """Put what was found into the project, in one undo step."""
        if self._weighed is None:
            return
        fit = self._weighed.fits[self.found.currentIndex()]
        edits: dict[str, Value] = dict(fit.edits)
        try:
            self._document.edit_several(edits, "apply what a record says")
        except ProjectProblems as error:
            self.trouble.setText(f"■ {error.problems[0].message}")
            self.trouble.show()


def _interval(one: Estimate | None) -> tuple[float, float] | None:
    """Give the interval of a number that the record tells."""
    return (one.low, one.high) if one is not None and one.told_apart else None


def _name(key: str) -> str:
    section, _, name = key.partition(".")
    return f"{section}, {name.replace('_', ' ')}".replace("_", " ")
