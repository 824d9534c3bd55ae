"""A window that makes each of its stages when it is wanted: the chosen one first, the others when it has been seen.

What the other stages import comes in on a working thread, and then the library of units, which would hold whatever the
main thread does meanwhile. Then each stage is made, part by part, and placed, each in a turn of the event loop of its
own; so the window can be typed into from the start. Who reaches for a stage earlier finds it made at that moment.
"""

from collections.abc import Iterator
from functools import cached_property, partial
from typing import TYPE_CHECKING, TypeVar

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QMainWindow, QWidget

from levelbench.gui.document.document import Document
from levelbench.gui.work.answers import Answers
from levelbench.gui.work.jobs import Job, Progress
from levelbench.gui.work.slices import Slices, Step
from levelbench.quantity.factors import load_library

if TYPE_CHECKING:
    from levelbench.gui.stages.alarms import Alarms
    from levelbench.gui.stages.check import Check
    from levelbench.gui.stages.describe import Describe
    from levelbench.gui.stages.hand_over import HandOver
    from levelbench.gui.stages.operator import Rehearsed
    from levelbench.gui.stages.rehearse import Rehearse
    from levelbench.gui.stages.tune import Tune

ORDER = ("describe", "check", "tune", "alarms", "rehearse", "hand_over")  # of the rail
DESCRIBE, CHECK, TUNE, ALARMS, REHEARSE, HAND_OVER = range(len(ORDER))
STAGE_PAGES = tuple(name.replace("_", "-") for name in ORDER)  # of the help, that F1 opens on a stage
Stage = TypeVar("Stage", bound=QWidget)


class StagedWindow(QMainWindow):
    """Makes the stages, and says of each that it is there."""

    seen = Signal()  # the window has been shown for the first time
    stage_made = Signal(int, QWidget)
    all_made = Signal()
    troubled = Signal(str)  # words for the person
    stage_wanted = Signal(int)  # a stage points to another
    entry_wanted = Signal(str)  # a stage points to an entry of the project, by its key
    wide_changed = Signal()  # a way wants the room of drawing and trend, or gives it back
    closed = Signal()

    def __init__(self, document: Document, answers: Answers, rehearsed: "Rehearsed") -> None:
        super().__init__()
        self.document = document
        self.answers = answers
        self._rehearsed = rehearsed
        self._is_new = True
        self._making = Slices(self)
        self.seen.connect(self._bring_in)
        self.closed.connect(lambda: self._making.do(()))

    def stage(self, at: int) -> QWidget:
        """Give a stage by its number on the rail, from 0."""
        found: QWidget = getattr(self, ORDER[at])
        return found

    @cached_property
    def describe(self) -> "Describe":
        """The forms of every part."""
        from levelbench.gui.stages.describe import Describe  # noqa: PLC0415  each comes in with its stage

        return self._have(DESCRIBE, Describe(self.document))

    @cached_property
    def check(self) -> "Check":
        """The findings."""
        from levelbench.gui.stages.check import Check  # noqa: PLC0415

        made = Check(self.document, self.answers)
        made.go_to.connect(self.entry_wanted)
        return self._have(CHECK, made)

    @cached_property
    def tune(self) -> "Tune":
        """The loop settings."""
        made = self._tune
        made.begin()
        made.hand.mode.acted.connect(self._rehearsed.act)
        made.wide_changed.connect(self.wide_changed)
        return self._have(TUNE, made)

    @cached_property
    def _tune(self) -> "Tune":
        from levelbench.gui.stages.tune import Tune  # noqa: PLC0415

        return Tune(self.document, self.answers)

    @cached_property
    def alarms(self) -> "Alarms":
        """The limits."""
        made = self._alarms
        made.begin()
        made.wide_changed.connect(self.wide_changed)
        return self._have(ALARMS, made)

    @cached_property
    def _alarms(self) -> "Alarms":
        from levelbench.gui.stages.alarms import Alarms  # noqa: PLC0415

        return Alarms(self.document, self.answers)

    @cached_property
    def rehearse(self) -> "Rehearse":
        """The operator's controls."""
        from levelbench.gui.stages.rehearse import Rehearse  # noqa: PLC0415

        return self._have(REHEARSE, Rehearse(self.document, self._rehearsed))

    @cached_property
    def hand_over(self) -> "HandOver":
        """The sheet and its files."""
        made = self._hand_over
        made.go_to.connect(self.entry_wanted)
        made.go_to_check.connect(partial(self.stage_wanted.emit, CHECK))
        return self._have(HAND_OVER, made)

    @cached_property
    def _hand_over(self) -> "HandOver":
        from levelbench.gui.stages.hand_over import HandOver  # noqa: PLC0415

        return HandOver(self.document, self.answers)

    def _have(self, at: int, made: Stage) -> Stage:
        made.setProperty("help", STAGE_PAGES[at])
        self.stage_made.emit(at, made)
        return made

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802  Qt's name
        """Go on with everything else, once the window stands there."""
        super().showEvent(event)
        if self._is_new:
            self._is_new = False
            QTimer.singleShot(0, self, self.seen.emit)

    def _bring_in(self) -> None:
        Job(self, _bring_in, lambda _nothing: self._load_units(), lambda _error: self._load_units(), key="stages")

    def _load_units(self) -> None:
        """Load the library of units, so that nobody waits for it who types a rare one."""
        Job(self, lambda _progress: load_library(), lambda _nothing: self._make_all(), self._without_units, key="units")

    def _without_units(self, error: Exception) -> None:
        self.troubled.emit(f"▲ Rare units can't be read: {error} Check the installation.")
        self._make_all()

    def _make_all(self) -> None:
        """Make what is not there yet, step by step; an import that failed on the thread says so here."""
        self._making.also((*(step for at in range(len(ORDER)) for step in self._steps(at)), self.all_made.emit))

    def when_all_made(self, do: Step) -> None:
        """Do something now when every stage is there, else as soon as that is so."""
        if all(name in vars(self) for name in ORDER):
            do()
        else:
            self.all_made.connect(do)

    def bring(self, at: int) -> None:
        """Make a stage and choose it, in turns of the event loop: another window is in use already."""
        self._making.also((*self._steps(at), partial(self.stage_wanted.emit, at)))

    def _steps(self, at: int) -> Iterator[Step]:
        """Give the steps that make a stage: what takes long in parts, before it is placed."""
        if at == TUNE:
            yield lambda: self._tune
            yield lambda: self._tune.hand
            yield lambda: self._tune.begin()  # noqa: PLW0108  made only then
        elif at == ALARMS:
            yield lambda: self._alarms
            yield lambda: self._alarms.ladder
            yield lambda: self._alarms.begin()  # noqa: PLW0108  made only then
        elif at == HAND_OVER:
            yield lambda: self._hand_over
        yield partial(self.stage, at)


def _bring_in(_progress: Progress) -> None:
    """Import what the stages need, on a working thread."""
    from levelbench.gui.bands import ways as of_alarms  # noqa: PLC0415
    from levelbench.gui.stages import alarms, check, describe, hand_over, rehearse, tune  # noqa: F401, PLC0415
    from levelbench.gui.tuning import ways as of_tuning  # noqa: PLC0415

    for ways in (of_tuning, of_alarms):
        ways.OFFERS.bring_in()
