"""Proof: the settings as they were against those of now, on the same seeds; and what was found is noted here."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QButtonGroup, QPushButton, QWidget

from levelbench.drawing.evidence import proof_picture
from levelbench.gui.fields.forms import Form
from levelbench.gui.fields.line_box import LineBox
from levelbench.gui.look.folded import Folded
from levelbench.gui.look.parts import button, choice, holder, line, row, text
from levelbench.gui.ways.picture_view import EvidenceView
from levelbench.gui.ways.way import Way
from levelbench.gui.work.answers import words_of
from levelbench.gui.work.job_line import JobLine
from levelbench.gui.work.jobs import Job, Progress
from levelbench.handover.evidence import row_of
from levelbench.handover.told import value_of
from levelbench.project import Project, ProjectProblems, units
from levelbench.project.as_found import FOUND_KEYS, as_found_from
from levelbench.rig import Cancelled
from levelbench.rig.assemble import assemble
from levelbench.tuning.proof import Proof as Found
from levelbench.tuning.proof import as_found, prove, settings_typed, with_settings

if TYPE_CHECKING:
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers
    from levelbench.project import Value
    from levelbench.quantity import Units

FOUND, OPENED = "as found", "as opened"
NOW = "as it is now"
_SAYS = (
    "Two settings on the same rig and the same seeds: a set point step, a load step, and the step with the drain shut. "
    "What noise does to both cancels in the difference. What stood in the controller when you came goes with the file, "
    "and its proof to the sheet."
)
_WAITING = "Before and after, run for run, come here."
_STOPPED = "You stopped this. Choose this way again, or change the project, to begin it anew."
_HEAD = ("measure", FOUND, NOW, "difference", "95 %", "")
_NOTE, _NOTE_ANEW = "Note as found", "Note those of now instead"
_NOTHING = (
    "Nothing is noted of what was found. Press “Note as found” before you change anything, or type what stands in the "
    "real controller after that."
)


class Proof(Way):
    """Which settings stand before on the card, with the verdict; picture and table in the wide place."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self._proved: tuple[Project, str] | None = None
        self.view, self.job_line = EvidenceView(_WAITING, "before and after over time", "before and after"), JobLine()
        self._group = QButtonGroup(self)
        self.choices = {name: self._choice(name) for name in (FOUND, OPENED)}
        self.verdict, self.why = text("", wrap=True), text("", wrap=True)
        self.least = text("", wrap=True)
        self.noted = LineBox(placeholderText="when, and by whom")
        self.noted.setAccessibleName("when the settings were found, and by whom")
        self.note = button(_NOTE, self._note, "main", "keep the settings of now as those that were found")
        self.drop = button("Forget it", self._drop, "link", "take what was found out of the project, one step")
        self.state = text("", "quiet", wrap=True)
        self.folded = Folded("what was found, as typed", self._form)
        self._build()
        self.wide = self.view
        self.noted.editingFinished.connect(self._keep_word)
        self.job_line.stopped.connect(self._stopped)
        document.project_changed.connect(lambda _project: self.when_seen(self._again))
        answers.state_changed.connect(lambda: self.when_seen(self._heard))
        self.when_seen(self._again)

    def _choice(self, name: str) -> QPushButton:
        says = f"compare with the settings {name}"
        made = choice(name, self._prove, says, says)
        self._group.addButton(made)
        return made

    def _build(self) -> None:
        before = row(text("before:", "small"), *self.choices.values(), None, gap=4)
        parts: list[QWidget] = [
            text(_SAYS, "small", wrap=True), holder(before), self.verdict, self.why, self.least, line(),
            text("As found", "subheading"), self.noted, holder(row(self.note, self.drop, None)), self.folded,
        ]  # fmt: skip
        for part in parts:
            self.body.addWidget(part)
        self.body.addStretch(1)
        self.foot.addWidget(self.state)
        self.foot.addWidget(self.job_line)
        self.choices[FOUND].setChecked(True)

    def _form(self) -> Form:
        form = Form(self.document, [f"as_found.{key}" for key in FOUND_KEYS])
        form.help_wanted.connect(self.looked_at.emit)
        return form

    # what is noted -----------------------------------------------------------------------------------------------

    def _again(self) -> None:
        """Take up the project as it is now."""
        found = self.document.project.as_found
        self.choices[FOUND].setEnabled(found is not None)
        if found is None and self.choices[FOUND].isChecked():
            self.choices[OPENED].setChecked(True)
        self.note.setText(_NOTE if found is None else _NOTE_ANEW)
        self.drop.setVisible(found is not None)
        self.folded.setVisible(found is not None)
        if found is not None and not self.noted.hasFocus():
            self.noted.setText(found.noted)
        self._say()
        self._prove()

    def _heard(self) -> None:
        self._say()
        if self._proved is None and self.answers.checked is not None:
            self._prove()  # the first start has come to its end

    def _say(self) -> None:
        words = f"■ {self.answers.trouble}" if self.answers.trouble else ""
        self.state.setText(words or (_NOTHING if self.document.project.as_found is None else ""))

    def _note(self) -> None:
        """Keep the settings of now as those that were found."""
        edits = as_found_from(settings_typed(self.document.project), self.noted.text().strip())
        self.choices[FOUND].setChecked(True)
        self._edit(edits, "note the settings as found")

    def _keep_word(self) -> None:
        """Keep when and by whom, where there is a note already."""
        found, words = self.document.project.as_found, self.noted.text().strip()
        if found is not None and words != found.noted:
            self._edit({"as_found.noted": words or None}, "say when the settings were found")

    def _drop(self) -> None:
        self._edit({"as_found": None}, "forget what was found")

    def _edit(self, edits: dict[str, Value], words: str) -> None:
        try:
            self.document.edit_several(edits, words)
        except ProjectProblems as error:
            self.state.setText(f"✗ {error.problems[0].message}")

    # the proof ---------------------------------------------------------------------------------------------------

    def _prove(self) -> None:
        """Prove the settings of now against the chosen ones, when either is another since the last time."""
        if self.answers.waiting:  # the first start is still preparing what a run needs
            return
        project, name = self.document.project, self._chosen()
        if self._proved is not None and self._proved[0] is project and self._proved[1] == name:
            return
        self._proved = (project, name)
        work = partial(_prove, project, None if name == FOUND else self.document.opened, name)
        self.job_line.follow(Job(self, work, self._show, self._failed, key="proof", title="proving"))

    def _chosen(self) -> str:
        return FOUND if self.choices[FOUND].isChecked() else OPENED

    def chosen(self) -> None:
        """Begin again what was stopped."""
        self.when_seen(self._prove)

    def _stopped(self) -> None:
        self._proved = None
        self.view.forget(_STOPPED)

    def _failed(self, error: Exception) -> None:
        self._proved = None
        for part in (self.verdict, self.why, self.least):
            part.setText("")
        if isinstance(error, ProjectProblems):
            self.view.forget(f"■ {error.problems[0].message}")
        elif not isinstance(error, Cancelled):
            self.view.forget(f"■ {words_of(error)}")

    def _show(self, found: Found) -> None:
        shown_in = units(found.after.rig.project)
        self.verdict.setText(found.verdict)
        self.why.setText("" if found.same else f"{found.effect.words} {found.effect.why}".strip())
        self.why.setVisible(not found.same)
        self.least.setText(_margins(found, shown_in))
        rows = [row_of(one, shown_in) for one in found.lines]
        head = (_HEAD[0], found.before.name, found.after.name, *_HEAD[3:])
        runs = (
            f"{len(found.seeds)} runs of each, seeds {found.seeds[0]} to {found.seeds[-1]}; the mean of them is drawn."
        )
        self.view.show_found(runs, partial(proof_picture, found, shown_in), head, rows)


def _prove(project: Project, opened: Project | None, name: str, progress: Progress) -> Found:
    """Prove a project against its settings as opened, None: as found; on a working thread."""
    before = as_found(project) if opened is None else with_settings(project, settings_typed(opened))
    return prove(assemble(before or project), assemble(project), (name, NOW), progress)


def _margins(found: Found, shown_in: Units) -> str:
    """Say the least margins of both anywhere in what is not known."""
    told = [
        f"{one.name} {value_of(one, shown_in)} → {value_of(other, shown_in)}"
        for one, other in zip(found.before.least, found.after.least, strict=True)
    ]
    return f"With the flow off by 10 % and the delay by 25 %, in the worst corner: {', '.join(told)}."
