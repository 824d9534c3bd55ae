"""Ways that work on the rig of the project: they follow it, say what they wait for, and do long work on it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from levelbench.gui.look.parts import button, row, text
from levelbench.gui.ways.way import Way
from levelbench.gui.work.answers import words_of
from levelbench.gui.work.job_line import JobLine
from levelbench.gui.work.jobs import Job, Progress
from levelbench.project import ProjectProblems
from levelbench.quantity import LevelBenchError, QuantityError
from levelbench.rig import Cancelled

if TYPE_CHECKING:
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers
    from levelbench.project import Value
    from levelbench.rig import Rig

T = TypeVar("T")


class OnRig(Way):
    """A way that takes up each new rig when it is in sight; at its foot stand the lines of its state and its work."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self.rig: Rig | None = None
        self.state, self.job_line = text("", "quiet", wrap=True), JobLine()
        self._told = ""  # what was said of the rig, which is gone when the rig is there
        self.foot.addWidget(self.state)
        self.foot.addWidget(self.job_line)

    def follow(self) -> None:
        """Take up the rig that there is and those that come; called once everything of the way is built."""
        self.answers.rig_changed.connect(self._new_rig)
        self.answers.state_changed.connect(lambda: self.when_seen(self.say))
        self.document.replaced.connect(self._another)
        if self.answers.checked is not None:
            self._new_rig(self.answers.checked.rig)
        self.say()

    def take_up(self, rig: Rig) -> None:
        """Show what follows from another rig."""
        raise NotImplementedError

    def forget(self) -> None:
        """Show nothing of the project before: another one is open."""
        raise NotImplementedError

    def say(self) -> None:
        """Say why there is no rig, if there is none."""
        trouble = self.answers.trouble
        words = f"■ {trouble}" if trouble else "The rig is being worked out." if self.rig is None else ""
        if words or self.state.text() == self._told:
            self.state.setText(words)
        self._told = words

    def failed(self, error: Exception) -> None:
        """Say what became of work; of work that was stopped, nothing."""
        if not isinstance(error, Cancelled):
            self.state.setText(f"■ {words_of(error)}")

    def follow_work(self, job: Job[Any]) -> None:
        """Show work on the rig in the line of work; it is dropped when another project is opened meanwhile."""
        self.document.replaced.connect(job.cancel)
        self.job_line.follow(job)

    def edit(self, edits: Mapping[str, Value], words: str) -> None:
        """Put edits into the project, in one undo step with a name; says why they can't be."""
        self.state.setText("")
        try:
            self.document.edit_several(dict(edits), words)
        except ProjectProblems as error:
            self.state.setText(f"✗ {error.problems[0].message}")

    def _new_rig(self, rig: Rig) -> None:
        self.rig = rig
        self.when_seen(self._take_up)

    def _take_up(self) -> None:
        if self.rig is not None:
            self.state.setText("")  # what was said was of the rig before
            self.take_up(self.rig)
        self.say()

    def _another(self, _project: object) -> None:
        self.rig = None
        self.state.setText("")
        self.forget()


@dataclass(frozen=True)
class Work(Generic[T]):
    """What a job has to do on a working thread, and what it is called."""

    do: Callable[[Progress], T]
    title: str


class Asked(OnRig, Generic[T]):
    """A way with a button, its words and its tip, that begins its work with what stands in its boxes."""

    def __init__(self, document: Document, answers: Answers, go: tuple[str, str]) -> None:
        super().__init__(document, answers)
        self.go = button(go[0], self.begin, "main", go[1])
        self.buttons = row(self.go, None)
        self.foot.addLayout(self.buttons)
        self._asked = False  # its work is under way

    @property
    def ready(self) -> bool:
        """Whether there is all that the work wants."""
        return self.rig is not None

    def work(self, rig: Rig) -> Work[T]:
        """Read the boxes. Raises QuantityError, which was shown under its box, or LevelBenchError."""
        raise NotImplementedError

    def show_answer(self, found: T) -> None:
        """Show what the work brought."""
        raise NotImplementedError

    def begin(self) -> None:
        """Begin the work with what stands in the boxes."""
        rig = self.rig
        if rig is None or not self.ready:
            self.say()
            return
        try:
            work = self.work(rig)
        except QuantityError:
            return  # it says so itself
        except LevelBenchError as error:
            self.state.setText(f"■ {error}")
            return
        self.state.setText("")
        self._let_ask(asked=True)
        job = Job(self, work.do, self.show_answer, self.failed, key="asked", title=work.title)
        job.ended.connect(lambda: self._let_ask(asked=False))
        self.follow_work(job)

    def say(self) -> None:
        """Say why there is no rig, and let nobody begin without one."""
        super().say()
        self._let_ask(asked=self._asked)

    def _let_ask(self, *, asked: bool) -> None:
        """Let the work begin where there is all that it wants, unless it is `asked` for already."""
        self._asked = asked
        self.go.setEnabled(self.ready and not asked)
