"""A change that is only tried: the edited project is reviewed and predicted in the background, and nothing is edited.

    trier = Trier(document, owner); trier.done.connect(show); trier.begin({"loop_settings.gain": "5.5 %/%"})

While a value is dragged new changes come faster than answers: the newest waits until the one in work is done, so that
answers keep coming during the drag and the last one is always for the value that is shown.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from levelbench.gui.work.answers import Checked, Tuned, check, tune, words_of
from levelbench.gui.work.jobs import Job, Progress
from levelbench.project import ProjectProblems, Value, edit_many
from levelbench.quantity import LevelBenchError

if TYPE_CHECKING:
    from levelbench.gui.document.document import Document
    from levelbench.project.records import Project
    from levelbench.quantity import Figure
    from levelbench.review.finding import Finding


@dataclass(frozen=True)
class WhatIf:
    """What would be, with some entries changed. `tuned` is None when there is no prediction; `trouble` says why."""

    changes: Mapping[str, Value]
    checked: Checked
    tuned: Tuned | None
    trouble: str = ""


@dataclass(frozen=True)
class Difference:
    """What a change does to the findings: the one in hand, and every other one that says something else after it."""

    this: tuple[Finding, Finding]  # before, after
    others: tuple[tuple[Finding, Finding], ...]


def difference(before: Checked, after: Checked, key: str) -> Difference:
    """Compare two reviews for the finding with a key; others come with those first whose severity changes."""
    now = {one.key: one for one in before.findings}
    then = {one.key: one for one in after.findings}
    others = [
        (one, then[at])
        for at, one in now.items()
        if at != key and (one.severity, one.text, one.applies) != (then[at].severity, then[at].text, then[at].applies)
    ]
    others.sort(key=lambda pair: (pair[0].severity is pair[1].severity, pair[1].severity.rank))
    return Difference((now[key], then[key]), tuple(others))


def key_figures(tuned: Tuned | None) -> tuple[Figure, ...]:
    """Give the few figures by which a tuning is judged at a glance."""
    if tuned is None:
        return ()
    predicted, margins = tuned.prediction, tuned.margins
    every = (predicted.rise, predicted.settling, predicted.overshoot, predicted.hold, predicted.load_deviation)
    return (*(one for one in every if one is not None), margins.gain, margins.phase)


class Trier(QObject):
    """Tries changes one after another; of those that come meanwhile only the newest is tried."""

    done = Signal(object)  # WhatIf
    refused = Signal(str)  # why it can't be

    def __init__(self, document: Document, owner: QObject, *, predicts: bool = True) -> None:
        super().__init__(owner)
        self._document = document
        self._predicts = predicts
        self._job: Job[WhatIf] | None = None
        self._next: dict[str, Value] | None = None

    def begin(self, changes: Mapping[str, Value]) -> None:
        """Try these changes of the project as it is now."""
        self._next = dict(changes)
        if self._job is None:
            self._go()

    def stop(self) -> None:
        """Want no answer any more."""
        self._next = None
        if self._job is not None:
            self._job.cancel()
            self._job = None

    def _go(self) -> None:
        changes, self._next = self._next, None
        if changes is None:
            return
        project = self._document.project
        work = _Work(project, changes, self._predicts)
        self._job = Job(self, work, self._have, self._failed, key="what-if")

    def _have(self, found: WhatIf) -> None:
        self._job = None
        self.done.emit(found)
        self._go()

    def _failed(self, error: Exception) -> None:
        self._job = None
        found = error.problems[0].message if isinstance(error, ProjectProblems) else words_of(error)
        self.refused.emit(found)
        self._go()


@dataclass(frozen=True)
class _Work:
    """The work of one try, on a working thread; it holds plain data only."""

    project: Project
    changes: dict[str, Value]
    predicts: bool

    def __call__(self, progress: Progress) -> WhatIf:
        checked = check(edit_many(self.project, self.changes), progress)
        if not self.predicts:
            return WhatIf(self.changes, checked, None)
        try:
            return WhatIf(self.changes, checked, tune(checked.rig, progress))
        except LevelBenchError as error:
            return WhatIf(self.changes, checked, None, words_of(error))
