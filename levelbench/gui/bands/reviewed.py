"""Ways that follow the review of the alarms: what it finds in boxes, with what would mend it, taken in one step."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from levelbench.gui.fields.forms import help_for
from levelbench.gui.findings.finding_note import finding_note
from levelbench.gui.look.parts import clear, column, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.ways.way import Way
from levelbench.project import ProjectProblems

if TYPE_CHECKING:
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers, Checked
    from levelbench.project import Value
    from levelbench.review.finding import Finding


class Reviewed(Way):
    """A way that shows each new answer of the review when it is in sight."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self.shown: Checked | None = None
        self.state, self.help = text("", "quiet", wrap=True), text("", "small", wrap=True)
        self.help.hide()
        self.said = column(gap=GRID // 2)  # what the rules find

    def follow(self) -> None:
        """Show the answer that there is and those that come; called once everything of the way is built."""
        self.answers.checked_changed.connect(lambda: self.when_seen(self._again))
        self.answers.state_changed.connect(lambda: self.when_seen(self.say))
        self.when_seen(self._again)

    def show_checked(self, checked: Checked) -> None:
        """Show what follows from another answer."""
        raise NotImplementedError

    def say(self) -> None:
        """Say why there is no answer, if there is none; what was said of something else stays."""
        if self.answers.trouble:
            self.state.setText(f"■ {self.answers.trouble}")
        elif self.state.text().startswith("■"):
            self.state.setText("")

    def tell(self, found: list[Finding]) -> list[Finding]:
        """Say what is amiss with what would mend it, and what is good in a line; gives the good ones."""
        clear(self.said)
        good = [one for one in found if one.severity.word == "good"]
        for finding in (one for one in found if one not in good):
            self.said.addWidget(finding_note(finding, partial(self.adopt, dict(finding.what_if), finding.title)))
        for finding in good:
            self.said.addWidget(text(f"{finding.severity.mark} {finding.title}", wrap=True))
        return good

    def adopt(self, edits: dict[str, Value], words: str) -> bool:
        """Put what is proposed into the project, in one undo step with a name; says why it can't be, gives whether."""
        self.state.setText("")
        try:
            self.document.adopt(edits, words)
        except ProjectProblems as error:
            self.state.setText(f"✗ {error.problems[0].message}")
            return False
        return True

    def explain(self, key: str) -> None:
        """Show the help of an entry at the foot, and the entry in the drawing."""
        self.help.setText(help_for(key))
        self.help.show()
        self.looked_at.emit(key)

    def _again(self) -> None:
        checked = self.answers.checked
        self.say()
        if checked is not None and checked is not self.shown:
            self.shown = checked
            self.show_checked(checked)
