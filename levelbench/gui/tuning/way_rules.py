"""Rules: what a person chooses for those that ask, the rule in hand with its figures, and taking its settings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from levelbench.gui.fields.typed import Typed
from levelbench.gui.look.parts import button, line, row, text
from levelbench.gui.tuning.evidence_line import EvidenceLine
from levelbench.gui.tuning.rules_view import RulesView
from levelbench.gui.tuning.side_by_side import SideBySide
from levelbench.gui.ways.on_rig import OnRig
from levelbench.gui.work.answers import words_of
from levelbench.gui.work.jobs import Job
from levelbench.project import units
from levelbench.quantity import Dimension, QuantityError
from levelbench.rig import Cancelled
from levelbench.tuning.process import of_rig
from levelbench.tuning.rules import NOW, SLIP, Choices, Comparison, Refused, Ruled, compare
from levelbench.tuning.rules.model_based import ARREST

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers
    from levelbench.gui.work.evidence import FoundProcess
    from levelbench.quantity import Figure
    from levelbench.rig import Rig

D = Dimension
_SAYS = (
    "Published rules, each worked out for this rig, rounded as it is typed, and run on it. The row in hand is tried, "
    "nothing is taken before you press the button."
)
_STOPPED = "You stopped this. Choose this way again, or change the project, to begin anew."
_ASKS = "Some rules leave a choice"
_ASKED = (
    "of SIMC; left empty: the dead time, which is tight",
    "of lambda; left empty: three dead times",
    "of averaging level; left empty: 80 % of the way to the nearest limit",
)


class Rules(OnRig):
    """The rule in hand on the card, the table in the wide place."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self._compared: Rig | None = None  # for which the rules are worked out, or will be
        self._shown: Rig | None = None  # for which they are in sight
        self._asked: tuple[Choices, FoundProcess | None] | None = None
        self._line: Ruled | Refused | None = None
        self.view, self.figures = RulesView(), SideBySide("now", "tried")
        self.closed = Typed("closed-loop time τc", D.TIME, 1, may_be_empty=True)
        self.arrest = Typed("arrest time λ", D.TIME, 1, may_be_empty=True)
        self.room = Typed("swing allowed", D.VOLUME, 1, may_be_empty=True)
        self.title, self.settings = text("", "subheading", wrap=True), text("", "strong", wrap=True, selectable=True)
        self.source = text("", "small", wrap=True, selectable=True)
        self.take = button(
            "Take these settings", self._take, "main", "put the rule's settings into the project, one step"
        )
        self._build()
        self.wide = self.view
        self.view.chosen.connect(self._show_line)
        answers.evidence.changed.connect(lambda: self.when_seen(self._compare))
        document.project_changed.connect(self._out_of_date)
        self.job_line.stopped.connect(self._stopped)
        self.follow()

    def _build(self) -> None:
        for one, why in zip((self.closed, self.arrest, self.room), _ASKED, strict=True):
            one.put((None,), "", why)
            one.boxes[0].setPlaceholderText("by itself")
            one.boxes[0].editingFinished.connect(self._compare)
        parts: list[QWidget] = [text(_SAYS, "small", wrap=True), self.title, self.settings, self.source, self.figures]
        self.evidence = EvidenceLine(self.answers.evidence)
        self.body.addWidget(self.evidence)
        for part in (*parts, line(), text(_ASKS, "subheading"), self.closed, self.arrest, self.room):
            self.body.addWidget(part)
        self.body.addStretch(1)
        self.foot.addLayout(row(self.take, None))
        self.take.setEnabled(False)

    def take_up(self, rig: Rig) -> None:  # noqa: ARG002  it is kept as `rig`
        """Work every rule out for it."""
        self._compare()

    def chosen(self) -> None:
        """Begin again what was stopped."""
        self.when_seen(self._take_up)

    def _stopped(self) -> None:
        self._compared = None
        self.view.outdated(_STOPPED)

    def _out_of_date(self, _project: object) -> None:
        """Let nothing be taken that was worked out for the project as it was: its form may be another now."""
        self.take.setEnabled(False)

    def forget(self) -> None:
        """Take back what was chosen for the project before."""
        for one in (self.closed, self.arrest, self.room):
            one.boxes[0].clear()
            one.refuse("")

    def _choices(self) -> Choices:
        """Read the boxes. Raises QuantityError, and shows it under the box."""
        found = []
        for one in (self.closed, self.arrest, self.room):
            (value,) = one.values()
            if value is not None and value <= 0:
                raise one.refusal("It has to be more than 0.", bring=False)
            found.append(value)
        return Choices(closed_loop_time=found[0], arrest_time=found[1], room=found[2] or 0.0)

    def _compare(self) -> None:
        """Work every rule out, with what stands in the boxes, when anything is another since the last time."""
        rig = self.rig
        if rig is None:
            return
        try:
            choices = self._choices()
        except QuantityError:
            return  # it says so itself
        found = self.answers.evidence.found
        if self._compared is rig and self._asked == (choices, found):
            return
        self._compared, self._asked = rig, (choices, found)
        self.take.setEnabled(False)  # what is in sight was worked out for something else
        process = None if found is None else found.process
        work = Job(
            self,
            lambda progress: compare(rig, process, choices=choices, progress=progress),
            self._show,
            self.failed,
            key="rules",
            title="trying the rules",
        )
        self.follow_work(work)

    def _show(self, found: Comparison) -> None:
        self._shown, shown_in = found.rig, units(found.rig.project)
        dead = of_rig(found.rig).dead_time
        told = (
            shown_in.show(dead, D.TIME),
            shown_in.show(ARREST * dead, D.TIME),
            shown_in.show(found.choices.room, D.VOLUME),
        )
        for one, why, words in zip((self.closed, self.arrest, self.room), _ASKED, told, strict=True):
            if not one.boxes[0].text():
                one.put((None,), "", f"{why}, here {words}")
        self.figures.show_figures(_key_figures(found.lines[0]), shown_in)
        self.view.show_found(found, shown_in)

    def failed(self, error: Exception) -> None:
        """Say in the wide place what became of the rules."""
        self._compared = None
        if not isinstance(error, Cancelled):
            self.view.outdated(f"■ {words_of(error)}")

    def _show_line(self, line: Ruled | Refused) -> None:
        """Show the rule in hand: what it is, its settings as they are typed, its figures beside the present ones."""
        self._line = line
        takeable = isinstance(line, Ruled) and line.takeable
        of_now = self._shown is not None and self._shown.project == self.document.project
        self.take.setEnabled(takeable and of_now)
        if isinstance(line, Refused):
            self.title.setText(f"{line.rule.name} {line.rule.kind}: can't be used here")
            self.settings.setText(line.why)
            self.source.setText(f"Source: {line.rule.source}")
            self.figures.compare(None)
            return
        self.title.setText(line.title[0].upper() + line.title[1:])
        self.settings.setText(" · ".join(f"{_name(key)} {words}" for key, words in line.edits.items()))
        self.source.setText(
            f"{line.formula}. Made so that it {line.aim.value}. Source: {line.source}" if takeable else ""
        )
        if line.key == SLIP:
            self.source.setText("Not to be taken: it shows what becomes of a loop when only its gain is cut.")
        self.figures.compare(None if line.key == NOW else _key_figures(line))

    def _take(self) -> None:
        if isinstance(self._line, Ruled) and self._line.takeable:
            self.edit(self._line.edits, f"take the settings of {self._line.title}")

    def say(self) -> None:
        """Say why there is no rig, in the wide place too; nothing is to be taken then."""
        super().say()
        if self.answers.trouble:
            self.view.outdated(f"■ {self.answers.trouble}")
            self.take.setEnabled(False)


def _key_figures(one: Ruled) -> tuple[Figure, ...]:
    """Give what a rule is judged by: the run first, then the theory."""
    run, robust = one.prediction, one.margins
    seen = (run.overshoot, run.settling, run.load_deviation, run.hold, run.travel, one.restless, run.starts)
    theory = (robust.gain, robust.phase, robust.sensitivity, robust.slow_cycling)
    linear = one.linear.figures if one.linear is not None else ()
    return (*(each for each in (*seen, *theory) if each is not None), *linear)


def _name(key: str) -> str:
    return key.rpartition(".")[2].replace("_", " ")
