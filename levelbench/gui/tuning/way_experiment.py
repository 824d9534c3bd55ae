"""Experiment: what will happen is said with figures, then the simulated rig is disturbed with care and measured."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QFileDialog

from levelbench.gui.look.parts import button, row, text
from levelbench.gui.tuning.experiment_form import ExperimentForm
from levelbench.gui.tuning.experiment_room import RECORD, SHEET, ExperimentRoom
from levelbench.gui.ways.way import Way
from levelbench.gui.work.answers import words_of
from levelbench.gui.work.evidence import FoundProcess
from levelbench.gui.work.job_line import JobLine
from levelbench.gui.work.jobs import Job
from levelbench.project import units
from levelbench.quantity import QuantityError
from levelbench.records import write_csv
from levelbench.rig import Cancelled
from levelbench.tuning import experiments
from levelbench.tuning.experiments import KINDS, by_hand, plan, run_experiment

if TYPE_CHECKING:
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers
    from levelbench.rig import Rig

_SAYS = (
    "Disturbs the simulated rig as a person at its panel would, within limits, and finds k' and the delay from what is "
    "seen. By hand gives the same as a sheet for the real rig; its record is then read by Record."
)
_SOON = 120  # ms


class Experiment(Way):
    """Kind and sizes on the card; what will happen, record and results in the wide place."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self.form, self.room, self.job_line = ExperimentForm(), ExperimentRoom(), JobLine()
        self.state = text("", "quiet", wrap=True)
        self.go = button("Run the experiment", self.begin, "main", "do it on the simulated rig, as it is described")
        self.hand = button("By hand …", self._sheet, "", "show the sheet for a person at the real rig")
        self.plan: experiments.Plan | None = None
        self.done: experiments.Experiment | None = None
        self._rig: Rig | None = None
        self._soon = QTimer(self, singleShot=True, interval=_SOON)
        self._build()
        self._connect()
        self.wide = self.room
        if answers.checked is not None:
            self._new_rig(answers.checked.rig)
        self._say()

    def _build(self) -> None:
        self.body.addWidget(text(_SAYS, "small", wrap=True))
        self.body.addWidget(self.form)
        self.body.addStretch(1)
        self.foot.addWidget(self.state)
        self.foot.addWidget(self.job_line)
        self.foot.addLayout(row(self.go, self.hand, None))

    def _connect(self) -> None:
        self.form.edited.connect(self._edited)
        self._soon.timeout.connect(lambda: self.when_seen(self._plan))
        self.room.use_wanted.connect(self._use)
        self.room.keep_wanted.connect(self._keep)
        self.answers.rig_changed.connect(self._new_rig)
        self.answers.state_changed.connect(lambda: self.when_seen(self._say))
        self.document.replaced.connect(self._forget)

    def _new_rig(self, rig: Rig) -> None:
        self._rig = rig
        if self.done is not None:
            self.room.outdated()
        self.form.for_drain(forced=rig.params.drain.kind == 3)
        self.when_seen(self._plan)

    def _forget(self, _project: object) -> None:
        """Another project is open: what was typed and measured for the one before is gone."""
        self._rig = self.plan = self.done = None
        self.form.as_proposed()
        self.room.forget()
        self._say()

    # before it runs ----------------------------------------------------------------------------------------------

    def _edited(self) -> None:
        """Something in the boxes is another: what will happen comes into sight again."""
        if self.room.page == RECORD:
            self.room.show_outlook()
        self._soon.start()

    def _plan(self) -> None:
        """Work out what will happen with what stands in the boxes."""
        rig, self.plan = self._rig, None
        self._say()
        if rig is None:
            return
        try:
            wishes, kind = self.form.wishes(), self.form.chosen
        except QuantityError:
            return  # it says so itself
        Job(self, lambda _progress: plan(rig, kind, wishes), self._planned, self._no_plan, key="plan", title="planning")

    def _planned(self, made: experiments.Plan) -> None:
        self.plan = made
        self.form.show_plan(made)
        self.room.show_plan(made)
        self._say()
        if self.room.page == SHEET:
            self._sheet()

    def _no_plan(self, error: Exception) -> None:
        self.room.refuse(words_of(error))
        self._say()

    def _sheet(self) -> None:
        """Show how to do it at the real rig."""
        if self.plan is not None:
            title = f"{KINDS[self.plan.kind]}, by hand: {self.plan.rig.project.title}"
            self.room.show_sheet(title[0].upper() + title[1:], by_hand(self.plan))

    # running -----------------------------------------------------------------------------------------------------

    def begin(self) -> None:
        """Do it, with what was planned."""
        planned = self.plan
        if planned is None:
            return
        try:
            seed = self.form.first_seed()
        except QuantityError:
            return  # it says so itself
        self.go.setEnabled(False)
        job = Job(
            self,
            lambda progress: run_experiment(planned, seed, progress),
            self._show,
            self._failed,
            key="experiment",
            title="experimenting",
        )
        job.ended.connect(self._say)
        self.job_line.follow(job)

    def _show(self, done: experiments.Experiment) -> None:
        self.done = done
        self.room.show_experiment(done)

    def _failed(self, error: Exception) -> None:
        if not isinstance(error, Cancelled):
            self.state.setText(f"■ {words_of(error)}")

    def _use(self) -> None:
        """Let rules and search take the process that was found."""
        done = self.done
        if done is None or done.process is None:
            return
        shown_in = units(done.plan.rig.project)
        slope, delay = done.estimates[:2]
        words = f"{KINDS[done.plan.kind]}: k' {slope.value(shown_in)}, delay {delay.value(shown_in)}"
        delays = (max(delay.low, 0.0), delay.high) if delay.told_apart else None
        self.answers.evidence.use(FoundProcess(done.process, (slope.low, slope.high), delays, words))

    def _keep(self) -> None:
        """Write the record."""
        done = self.done
        if done is None:
            return
        chosen, _ = QFileDialog.getSaveFileName(self, "Keep the record", f"{done.plan.kind}.csv", "CSV (*.csv)")
        if chosen:
            path, shown_in, recording = Path(chosen), units(done.plan.rig.project), done.recording
            job = Job(
                self,
                lambda progress: write_csv(recording, path, shown_in, progress=progress),
                lambda _nothing: self.state.setText(f"Kept as {path.name}, its journal beside it."),
                self._failed,
                key="keep",
                title="writing",
            )
            self.job_line.follow(job)

    def _say(self) -> None:
        trouble = self.answers.trouble
        waiting = self._rig is None and not trouble
        self.state.setText(f"■ {trouble}" if trouble else "The rig is being worked out." if waiting else "")
        ready = self.plan is not None
        self.go.setEnabled(ready)
        self.hand.setEnabled(ready)
