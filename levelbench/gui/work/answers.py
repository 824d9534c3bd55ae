"""What the program works out from the open project, in the background: the rig, the findings, the tuning, the sheet.

A change of the project makes the answers out of date; a moment after the last change they are worked out anew, one
after another, and each is announced when it is there. Nothing here imports the rig before it is wanted, so that the
window can appear at once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, TypeVar

from PySide6.QtCore import QObject, QTimer, Signal

from levelbench.gui.bench.warm import spare_the_sweeps
from levelbench.gui.document.document import Document
from levelbench.gui.work.evidence import Evidence
from levelbench.gui.work.jobs import Job, Progress
from levelbench.gui.work.slices import Slices
from levelbench.project import units
from levelbench.quantity import LevelBenchError

if TYPE_CHECKING:
    from levelbench.alarms.ladder import Rung
    from levelbench.project.records import Project
    from levelbench.quantity import Units
    from levelbench.review.finding import Finding
    from levelbench.rig import Rig
    from levelbench.rig.settings import Settings
    from levelbench.tuning.effects import Known
    from levelbench.tuning.forms import Form
    from levelbench.tuning.loop import Margins
    from levelbench.tuning.narrow_band import NarrowBand
    from levelbench.tuning.prediction import Prediction
    from levelbench.tuning.response import OpenLoop

T = TypeVar("T")
STOPPED = "You stopped this. The next edit, or Run, Work out again, begins it anew."
SETTLE = 250  # ms without a further change until the work begins


@dataclass(frozen=True)
class Checked:
    """A rig with what the review says of it."""

    rig: Rig
    findings: tuple[Finding, ...]
    ladder: tuple[Rung, ...]


@dataclass(frozen=True)
class Tuned:
    """A rig's settings in every form, its margins, and what the model predicts."""

    forms: tuple[Form, ...]
    margins: Margins
    prediction: Prediction
    units: Units
    settings: Settings  # in the standard form
    span: float  # the volume from 0 to 100 % of the PV [m3]
    known: Known  # by which the effect of a change is told
    loop: OpenLoop
    narrow: NarrowBand | None  # why the gain looks so large, where it does


class Answers(QObject):
    """Works the answers out and keeps the newest of each; None while one is being worked out or can't be."""

    rig_changed = Signal(object)  # Rig
    checked_changed = Signal()
    tuned_changed = Signal()
    state_changed = Signal()
    job_begun = Signal(object)  # Job: for whoever shows how far it is and may stop it

    def __init__(self, document: Document, *, wait: bool = False) -> None:
        super().__init__(document)
        self._document = document
        self._waiting = wait
        self._worked = False
        self.checked: Checked | None = None
        self.tuned: Tuned | None = None
        self.trouble = ""  # why there is no rig, in words
        self.tune_trouble = ""  # why there is a rig and no prediction
        self.evidence = Evidence(document)
        self._slices = Slices(self)
        self._soon = QTimer(self, singleShot=True, interval=SETTLE)
        self._soon.timeout.connect(self._work)
        document.project_changed.connect(self._out_of_date)
        self._soon.start()

    @property
    def waiting(self) -> bool:
        """Whether the first start is still preparing what a rig needs."""
        return self._waiting

    @property
    def working(self) -> bool:
        """Whether any answer is still to come."""
        to_tune = self.tuned is None and not self.tune_trouble
        return not self.trouble and (self.checked is None or to_tune)

    def begin(self) -> None:
        """Begin to work; called when the first start has prepared what a rig needs."""
        self._waiting = False
        self._soon.start()
        self.state_changed.emit()

    def again(self) -> None:
        """Work everything out anew, though nothing was edited; for what was stopped or failed."""
        self._out_of_date(self._document.project)

    def stop(self) -> None:
        """Take it that the person stopped the work that was going on; what is there already stays."""
        if self.checked is None:
            self.trouble = STOPPED
        elif self.tuned is None:
            self.tune_trouble = STOPPED
        self.state_changed.emit()

    def _out_of_date(self, _project: object) -> None:
        self.checked = self.tuned = None
        self.trouble = self.tune_trouble = ""
        self._slices.do(())
        self._soon.start()
        self.state_changed.emit()

    def _work(self) -> None:
        if self._waiting:
            return
        project = self._document.project
        self._begin(lambda progress: check(project, progress), self._have_checked, self._failed, "checking the rig")

    def _have_checked(self, checked: Checked) -> None:
        self.checked = checked
        tell = (partial(self.rig_changed.emit, checked.rig), self.checked_changed.emit, self.state_changed.emit)
        self._slices.do(tell)  # each hearer has much to draw
        self._begin(
            lambda progress: tune(checked.rig, progress), self._have_tuned, self._not_tuned, "predicting the loop"
        )

    def _begin(
        self,
        work: Callable[[Progress], T],
        have: Callable[[T], None],
        failed: Callable[[Exception], None],
        title: str,
    ) -> None:
        self.job_begun.emit(Job(self, work, have, failed, key="answers", title=title))

    def _have_tuned(self, tuned: Tuned) -> None:
        if not self._worked:  # every module that an answer needs has come in by now
            self._worked = True
            spare_the_sweeps()
        self.tuned = tuned
        self._slices.also((self.tuned_changed.emit, self.state_changed.emit))

    def _failed(self, error: Exception) -> None:
        self.trouble = words_of(error)
        self.state_changed.emit()

    def _not_tuned(self, error: Exception) -> None:
        self.tune_trouble = words_of(error)
        self.state_changed.emit()


def words_of(error: Exception) -> str:
    """Give what an error says; one that was not made for people says what kind it is as well."""
    return str(error) if isinstance(error, LevelBenchError) else f"{type(error).__name__}: {error}"


def check(project: Project, progress: Progress) -> Checked:
    """Assemble and review a project; on a working thread."""
    from levelbench.alarms.ladder import ladder  # noqa: PLC0415
    from levelbench.review import review  # noqa: PLC0415  the rig comes in when it is wanted
    from levelbench.rig import assemble  # noqa: PLC0415

    rig = assemble(project)
    return Checked(rig, review(rig, progress), ladder(rig))


def tune(rig: Rig, progress: Progress) -> Tuned:
    """Work out settings, margins and prediction of a rig; on a working thread."""
    from levelbench.tuning.effects import known  # noqa: PLC0415  the rig comes in when it is wanted
    from levelbench.tuning.forms import all_forms  # noqa: PLC0415
    from levelbench.tuning.loop import open_loop, settings_in  # noqa: PLC0415
    from levelbench.tuning.narrow_band import narrow_band  # noqa: PLC0415
    from levelbench.tuning.prediction import predict  # noqa: PLC0415

    low, high = rig.span
    found = predict(rig, progress)
    about = known(rig, found)
    return Tuned(
        forms=all_forms(rig),
        margins=about.margins,
        prediction=found,
        units=units(rig.project),
        settings=settings_in(rig),
        span=high - low,
        known=about,
        loop=open_loop(rig),
        narrow=narrow_band(rig),
    )
