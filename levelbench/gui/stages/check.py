"""Check: what the design rules say of the rig, worst first, each with its figures and what to do about it."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QApplication, QPushButton

from levelbench.gui.document.document import Document
from levelbench.gui.findings.finding_box import FindingBox
from levelbench.gui.findings.findings_list import FindingsList
from levelbench.gui.findings.findings_text import as_csv, as_text
from levelbench.gui.findings.what_if import Trier, WhatIf
from levelbench.gui.look.parts import Card, button, line, restyle, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.work.answers import Answers
from levelbench.project import ProjectProblems, units

if TYPE_CHECKING:
    from levelbench.review import Finding

_FILTERS = {"stop": "■ to fix", "attend": "▲ to weigh", "good": "✓ good"}


class Check(Card):
    """Every finding, worst first; which kinds are shown is chosen above them."""

    go_to = Signal(str)  # key

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__("Check the design")
        self._document = document
        self._answers = answers
        self._trier = Trier(document, self)
        self._trying: FindingBox | None = None
        self._list = FindingsList(self, self._join, self._chosen)
        self.headline = text("", "strong", wrap=True)
        self.filters = {word: self._filter(word) for word in _FILTERS}
        self.trouble = text("", "stop", wrap=True)
        self.trouble.hide()
        self._build()
        self._trier.done.connect(self._tried)
        self._trier.refused.connect(self._not_tried)
        answers.checked_changed.connect(lambda: self.when_seen(self._show))
        answers.state_changed.connect(self._say)
        self._say()
        self.when_seen(self._show)

    def _build(self) -> None:
        self.body.addWidget(self.headline)
        self.body.addLayout(row(*self.filters.values(), None, gap=GRID // 2))
        self.body.addWidget(self.trouble)
        self.body.addLayout(self._list.layout)
        self.body.addStretch(1)
        self.copied = text("", "small")
        tip = "copy the findings that are shown, as {}, with every figure"
        self.copy_text = button("Copy as text", lambda: self._copy("text"), "link", tip.format("text"))
        self.copy_csv = button("Copy as CSV", lambda: self._copy("CSV"), "link", tip.format("a table (CSV)"))
        self.foot.addWidget(line())
        self.foot.addLayout(row(self.copy_text, self.copy_csv, None, self.copied))

    def _filter(self, word: str) -> QPushButton:
        made = button(_FILTERS[word], self._list.sift, "filter", f"show what is {_FILTERS[word][2:]}, or hide it")
        made.setCheckable(True)
        made.setChecked(True)
        return made

    def boxes(self) -> list[FindingBox]:
        """Give the findings that are on the card, in their order."""
        return self._list.boxes()

    def _chosen(self, finding: Finding) -> bool:
        return self.filters[finding.severity.word].isChecked()

    def _say(self) -> None:
        answers = self._answers
        self.trouble.setText(f"■ {answers.trouble}")
        self.trouble.setVisible(bool(answers.trouble))
        checked = answers.checked
        for button_ in (self.copy_text, self.copy_csv):
            button_.setEnabled(checked is not None)
        self.headline.setVisible(not answers.trouble)
        if checked is None:
            self._trier.stop()
            self.aside.setText(
                "first start: preparing the rig …" if answers.waiting else "" if answers.trouble else "working …"
            )
            return
        self.aside.setText(_counts(checked.findings))
        words, role = _headline(checked.findings)
        self.headline.setText(words)
        restyle(self.headline, role=role)
        for word, box in self.filters.items():
            number = sum(one.severity.word == word for one in checked.findings)
            box.setText(f"{_FILTERS[word]} {number}")

    def _show(self) -> None:
        self._trying = None
        if self._answers.checked is not None:
            self._list.show(self._answers.checked.findings, units(self._document.project))

    def _join(self, box: FindingBox) -> None:
        box.go_to.connect(self.go_to)
        box.try_it.connect(self._try)
        box.adopted.connect(self._adopt)
        box.stepped.connect(self._step)

    def _step(self, box: FindingBox, by: int) -> None:
        """Go on to the next finding that is shown."""
        shown = [one for one in self.boxes() if one.isVisible()]
        at = shown.index(box) + by
        if 0 <= at < len(shown):
            shown[at].setFocus()
            self.area.ensureWidgetVisible(shown[at], 0, GRID)

    # what-if -----------------------------------------------------------------------------------------------------

    def _try(self, box: FindingBox) -> None:
        if self._trying is not None and self._trying is not box:
            self._trying.leave()
        self._trying = box
        box.begin_outcome()
        self._trier.begin(box.finding.what_if)

    def _tried(self, outcome: WhatIf) -> None:
        box, checked = self._trying, self._answers.checked
        if box is None or box.outcome is None or checked is None:
            return
        shown_in = units(self._document.project)
        box.outcome.show_outcome((checked, self._answers.tuned), outcome, box.finding.key, shown_in)
        self._list.later(partial(self._bring_into_sight, box))

    def _bring_into_sight(self, box: FindingBox) -> None:
        if box is self._trying and box.outcome is not None:
            self.area.ensureWidgetVisible(box.outcome.leave, 0, GRID)

    def _not_tried(self, reason: str) -> None:
        if self._trying is not None and self._trying.outcome is not None:
            self._trying.outcome.refuse(reason)

    def _adopt(self, finding: Finding) -> None:
        try:
            self._document.adopt(dict(finding.what_if), finding.title)
        except ProjectProblems as error:
            self._not_tried(str(error))

    # copying -----------------------------------------------------------------------------------------------------

    def _copy(self, kind: str) -> None:
        checked = self._answers.checked
        if checked is None:
            return
        chosen = [one for one in checked.findings if self._chosen(one)]
        words = (as_text if kind == "text" else as_csv)(chosen, units(self._document.project))
        QApplication.clipboard().setText(words)
        self.copied.setText(f"✓ {len(chosen)} findings copied as {kind}")


def _headline(findings: tuple[Finding, ...]) -> tuple[str, str]:
    """Say in one sentence how the design stands, and in which role it is written."""
    words = [one.severity.word for one in findings]
    stops, attends = words.count("stop"), words.count("attend")
    if stops:
        return f"■ {stops} to fix before this rig is run with water.", "stop-strong"
    if attends:
        return f"▲ Nothing to fix. {attends} to weigh: change it, or hand it over knowingly.", "attention-strong"
    return f"✓ All {len(words)} rules are met.", "strong"


def _counts(findings: tuple[Finding, ...]) -> str:
    words = [one.severity.word for one in findings]
    return f"{words.count('stop')} to fix · {words.count('attend')} to weigh · {words.count('good')} good"
