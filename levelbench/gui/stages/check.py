"""Check: what the design rules say of the rig, worst first, each with its figures and what to do about it."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.answers import Answers
from levelbench.gui.document import Document
from levelbench.gui.entry_keys import name_of
from levelbench.gui.figures import FigureRow
from levelbench.gui.parts import Card, button, clear, line, row, text
from levelbench.gui.rail import State
from levelbench.gui.slices import Slices
from levelbench.gui.theme import GRID
from levelbench.project import ProjectProblems, units

if TYPE_CHECKING:
    from levelbench.quantity import Units
    from levelbench.review import Finding

_LOOK = {"stop": "stop-strong", "attend": "attention-strong", "good": "body"}


_INDENT = GRID * 2 + GRID // 2


def _indented(label: QLabel) -> QLabel:
    label.setContentsMargins(_INDENT, 0, 0, 0)
    return label


class FindingBox(QWidget):
    """One finding: its title opens and closes it; bad ones come open."""

    go_to = Signal(str)  # key
    try_it = Signal(object)  # Finding

    def __init__(self, finding: Finding, shown_in: Units, *, opened: bool) -> None:
        super().__init__()
        self.setProperty("role", "on-card")
        self.title = finding.title
        self._finding = finding
        self._units = shown_in
        self._inside: QWidget | None = None
        role = _LOOK[finding.severity.word]
        mark = text(finding.severity.mark, role)
        mark.setFixedWidth(GRID * 2)
        mark.setAlignment(Qt.AlignmentFlag.AlignTop)
        title = text(finding.title, role, wrap=True)
        self.fold = button("open", self._toggle, "link", f"open or close: {finding.severity.word}: {finding.title}")
        self.fold.setCheckable(True)
        head = row(mark, title, self.fold, gap=GRID // 2)
        head.setStretch(1, 1)
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.setSpacing(GRID // 2)
        self._layout.addLayout(head)
        if finding.severity.word != "good":
            self._layout.addWidget(_indented(text(finding.text, wrap=True, selectable=True)))
        if opened:
            self.fold.setChecked(True)
            self._toggle()

    def _toggle(self) -> None:
        opened = self.fold.isChecked()
        self.fold.setText("close" if opened else "open")
        if opened and self._inside is None:
            self._inside = self._make_inside()
            self._layout.addWidget(self._inside)
        if self._inside is not None:
            self._inside.setVisible(opened)

    def _make_inside(self) -> QWidget:
        inside = QWidget()
        inside.setProperty("role", "on-card")
        layout = QVBoxLayout(inside)
        layout.setContentsMargins(_INDENT, 0, 0, GRID // 2)
        layout.setSpacing(GRID // 2 + 1)
        if self._finding.severity.word == "good":
            layout.addWidget(text(self._finding.text, wrap=True, selectable=True))
        for figure in self._finding.figures:
            layout.addWidget(FigureRow(figure, self._units))
        if self._finding.change:
            layout.addWidget(text(self._finding.change, "strong", wrap=True, selectable=True))
        layout.addLayout(row(*self._buttons(), None))
        return inside

    def _buttons(self) -> list[QWidget]:
        made: list[QWidget] = []
        finding = self._finding
        if finding.what_if:
            what = " · ".join(f"{name_of(key)} {value}" for key, value in finding.what_if.items())
            made.append(button("Try it", lambda: self.try_it.emit(finding), "main", f"try it, one undo step: {what}"))
        if finding.go_to:
            tip = f"go to the entry: {name_of(finding.go_to)}"
            made.append(button("Go there", lambda: self.go_to.emit(finding.go_to), "", tip))
        return made


class Check(Card):
    """Every finding, worst first."""

    go_to = Signal(str)  # key

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__("Check the design")
        self._document = document
        self._answers = answers
        self._slices = Slices(self)
        self._list = QVBoxLayout()
        self._list.setSpacing(GRID)
        self.trouble = text("", "stop", wrap=True)
        self.trouble.hide()
        self.body.addWidget(self.trouble)
        self.body.addLayout(self._list)
        self.body.addStretch(1)
        answers.checked_changed.connect(lambda: self.when_seen(self._show))
        answers.state_changed.connect(self._say)
        self._say()
        self.when_seen(self._show)

    def boxes(self) -> list[FindingBox]:
        """Give the findings that are on the card, in their order."""
        items = [self._list.itemAt(at) for at in range(self._list.count())]
        widgets = [item.widget() for item in items if item is not None]
        return [one for one in widgets if isinstance(one, FindingBox)]

    def _say(self) -> None:
        answers = self._answers
        self.trouble.setText(f"■ {answers.trouble}")
        self.trouble.setVisible(bool(answers.trouble))
        if answers.waiting:
            self.aside.setText("first start: preparing the rig …")
        elif answers.checked is None:
            self.aside.setText("" if answers.trouble else "working …")
        else:
            self.aside.setText(_counts(answers.checked.findings))

    def _show(self) -> None:
        clear(self._list)
        if self._answers.checked is not None:
            shown_in = units(self._document.project)
            findings = self._answers.checked.findings
            self._slices.do(partial(self._add, at, one, shown_in) for at, one in enumerate(findings))

    def _add(self, at: int, finding: Finding, shown_in: Units) -> None:
        if at:
            self._list.addWidget(line())
        box = FindingBox(finding, shown_in, opened=finding.severity.word == "stop" or at == 0)
        box.go_to.connect(self.go_to)
        box.try_it.connect(self._try)
        self._list.addWidget(box)

    def _try(self, finding: Finding) -> None:
        try:
            self._document.adopt(dict(finding.what_if), finding.title)
        except ProjectProblems as error:
            self.trouble.setText(f"■ It could not be tried: {error}")
            self.trouble.show()


def _counts(findings: tuple[Finding, ...]) -> str:
    words = [one.severity.word for one in findings]
    return f"{words.count('stop')} to fix · {words.count('attend')} to weigh · {words.count('good')} good"


def state(answers: Answers) -> State:
    """Say how the check stands, for the rail."""
    if answers.trouble:
        return State("■", "can't be built", Role.STOP)
    if answers.checked is None:
        return State("", "preparing …" if answers.waiting else "working …")
    words = [one.severity.word for one in answers.checked.findings]
    stops, attends = words.count("stop"), words.count("attend")
    if stops:
        return State("■", f"{stops} to fix" + (f" · {attends} to weigh" if attends else ""), Role.STOP)
    if attends:
        return State("▲", f"{attends} to weigh", Role.ATTENTION)
    return State("✓", f"{len(words)} rules, all good")
