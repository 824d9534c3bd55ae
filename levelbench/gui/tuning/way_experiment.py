"""Experiment: what will happen is said with figures, then the simulated rig is disturbed with care and measured."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer

from levelbench.gui.document.save_name import ask_where_by_kind
from levelbench.gui.look.parts import button, text
from levelbench.gui.tuning.experiment_form import ExperimentForm
from levelbench.gui.tuning.experiment_room import RECORD, SHEET, ExperimentRoom
from levelbench.gui.ways.on_rig import Asked, Work
from levelbench.gui.work.answers import words_of
from levelbench.gui.work.evidence import FoundProcess
from levelbench.gui.work.jobs import Job
from levelbench.project import units
from levelbench.quantity import QuantityError
from levelbench.records import write_csv
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


class Experiment(Asked[experiments.Experiment]):
    """Kind and sizes on the card; what will happen, record and results in the wide place."""

    def __init__(self, document: Document, answers: Answers) -> None:
        go = "Run the experiment", "do it on the simulated rig, as it is described"
        super().__init__(document, answers, go)
        self.hand = button("By hand …", self._sheet, "", "show the sheet for a person at the real rig")
        self.buttons.insertWidget(1, self.hand)
        self.form, self.room = ExperimentForm(), ExperimentRoom()
        self.plan: experiments.Plan | None = None
        self.done: experiments.Experiment | None = None
        self._soon = QTimer(self, singleShot=True, interval=_SOON)
        self.body.addWidget(text(_SAYS, "small", wrap=True))
        self.body.addWidget(self.form)
        self.body.addStretch(1)
        self._connect()
        self.wide = self.room
        self.follow()

    def _connect(self) -> None:
        self.form.edited.connect(self._edited)
        self._soon.timeout.connect(lambda: self.when_seen(self._plan))
        self.room.use_wanted.connect(self._use)
        self.room.keep_wanted.connect(self._keep)
        self.answers.rig_changed.connect(self._old)

    @property
    def ready(self) -> bool:
        """Whether it is planned."""
        return self.plan is not None

    def _old(self, _rig: Rig) -> None:
        """Say that what is shown was done on another rig."""
        if self.done is not None:
            self.room.outdated()

    def take_up(self, rig: Rig) -> None:
        """Offer what the rig's drain allows, and plan with it."""
        self.form.for_drain(forced=rig.params.drain.kind == 3)
        self._plan()

    def forget(self) -> None:
        """Show nothing of what was typed and measured for the project before."""
        self.plan = self.done = None
        self.form.as_proposed()
        self.room.forget()
        self.say()

    # before it runs ----------------------------------------------------------------------------------------------

    def _edited(self) -> None:
        """Something in the boxes is another: what will happen comes into sight again."""
        if self.room.page == RECORD:
            self.room.show_outlook()
        self._soon.start()

    def _plan(self) -> None:
        """Work out what will happen with what stands in the boxes."""
        rig, self.plan = self.rig, None
        self.say()
        if rig is None:
            return
        try:
            wishes, kind = self.form.wishes(), self.form.chosen
        except QuantityError:
            return  # it says so itself
        job = Job(self, lambda _progress: plan(rig, kind, wishes), self._planned, self._no_plan, key="plan")
        self.document.replaced.connect(job.cancel)

    def _planned(self, made: experiments.Plan) -> None:
        self.plan = made
        self.form.show_plan(made)
        self.room.show_plan(made)
        self.say()
        if self.room.page == SHEET:
            self._sheet()

    def _no_plan(self, error: Exception) -> None:
        self.room.refuse(words_of(error))
        self.say()

    def _sheet(self) -> None:
        """Show how to do it at the real rig."""
        if self.plan is not None:
            title = f"{KINDS[self.plan.kind]}, by hand: {self.plan.rig.project.title}"
            self.room.show_sheet(title[0].upper() + title[1:], by_hand(self.plan))

    # running -----------------------------------------------------------------------------------------------------

    def work(self, rig: Rig) -> Work[experiments.Experiment]:
        """Do what stands in the boxes, also what was typed last and is not planned yet."""
        kind, wishes, seed = self.form.chosen, self.form.wishes(), self.form.first_seed()
        return Work(lambda progress: run_experiment(plan(rig, kind, wishes), seed, progress), "experimenting")

    def show_answer(self, found: experiments.Experiment) -> None:
        """Show what was measured."""
        self.done = found
        self.room.show_experiment(found)

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
        path = ask_where_by_kind(self, "Keep the record", f"{done.plan.kind}.csv", {"CSV (*.csv)": ".csv"})
        if path is not None:
            shown_in, recording = units(done.plan.rig.project), done.recording
            job = Job(
                self,
                lambda progress: write_csv(recording, path, shown_in, progress=progress),
                lambda _nothing: self.state.setText(f"Kept as {path.name}, its journal beside it."),
                self.failed,
                key="keep",
                title="writing",
            )
            self.job_line.follow(job)

    def say(self) -> None:
        """Say why there is no rig; the sheet wants a plan too."""
        super().say()
        self.hand.setEnabled(self.ready)
