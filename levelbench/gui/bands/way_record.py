"""Record: why each alarm is there; what asks for nothing is no alarm; the whole record goes to the sheet and to CSV."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFrame, QVBoxLayout

from levelbench.gui.bands.record_table import RecordTable
from levelbench.gui.bands.reviewed import Reviewed
from levelbench.gui.document.save_name import ask_where_by_kind
from levelbench.gui.fields.entry_keys import name_of
from levelbench.gui.fields.forms import Form
from levelbench.gui.look.parts import button, column, holder, line, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.work.answers import words_of
from levelbench.gui.work.job_line import JobLine
from levelbench.gui.work.jobs import Job, Progress
from levelbench.project import units
from levelbench.project.file_names import file_name

if TYPE_CHECKING:
    from levelbench.gui.document.document import Document
    from levelbench.gui.work.answers import Answers, Checked
    from levelbench.project import Value
    from levelbench.rig import Rig

ENTRIES = ("cause", "consequence", "operator_action", "time_available", "basis", "priority")
_PROPOSED = ENTRIES[:3]
_KINDS = {"Comma-separated values (*.csv)": ".csv"}
_SAYS = (
    "For each alarm: what makes it come, what follows when nobody answers, what the operator does, and why the limit "
    "stands where it stands. On which nobody has anything to do is no alarm. The record stands on the sheet."
)
_WAITING = "The record of the alarms comes here."
_NO_ALARMS = "This project has no alarms. Take one into use on the ladder."
_PROPOSE = "Propose words"
_OWN = "Proposed words are a beginning: put them in your own."


class RecordView(QFrame):
    """The wide place: how the priorities are spread, and the table."""

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "card")
        self.says, self.table = text(_WAITING, wrap=True), RecordTable()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(2 * GRID, GRID + 4, GRID, GRID + 4)
        layout.setSpacing(GRID)
        layout.addWidget(self.says)
        layout.addWidget(self.table, 1)
        layout.addStretch(0)
        self.table.hide()


class Record(Reviewed):
    """The reasons of the alarm in hand on the card, those of all in the wide place."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self._forms: dict[str, Form] = {}
        self.view, self.job_line = RecordView(), JobLine()
        self.title = text("", "subheading", wrap=True)
        self.propose = button(_PROPOSE, self._propose, tip="fill what is empty with words to begin with, one undo step")
        self.save = button("Save as CSV …", self._ask, tip="save the whole record as a table for other programs")
        self._place = column()
        self._build()
        self.wide = self.view
        self.view.table.chosen.connect(self._choose)
        self.follow()

    def _build(self) -> None:
        parts = (
            text(_SAYS, "small", wrap=True), self.title, holder(self._place), holder(row(self.propose, None)), line(),
            holder(self.said),
        )  # fmt: skip
        for part in parts:
            self.body.addWidget(part)
        self.body.addStretch(1)
        self.propose.hide()
        self.save.setEnabled(False)
        for part in (self.help, self.state, self.job_line, holder(row(self.save, None))):
            self.foot.addWidget(part)

    # what is -----------------------------------------------------------------------------------------------------

    def show_checked(self, checked: Checked) -> None:
        """Show the record of the rig as it is now."""
        from levelbench.alarms.rationale import distribution, rationale  # noqa: PLC0415  the rig comes when it is wanted

        rows = rationale(checked.rig)
        self.view.says.setText(distribution(rows) if rows else _NO_ALARMS)
        self.view.table.setVisible(bool(rows))
        self.save.setEnabled(bool(rows))
        self.view.table.show_rows(rows, units(checked.rig.project))
        self.tell([one for one in checked.findings if one.key.startswith("alarms.") and one.applies])
        self._offer()

    # the alarm in hand -------------------------------------------------------------------------------------------

    def _choose(self, key: str) -> None:
        """Show the entries of an alarm."""
        for each, form in self._forms.items():
            form.setVisible(each == key)
        self.title.setText("")
        self._offer()
        if not key:
            return
        if key not in self._forms:
            form = Form(self.document, [f"bands.{key}.{entry}" for entry in ENTRIES])
            form.help_wanted.connect(self.explain)
            self._forms[key] = form
            self._place.addWidget(form)
        found = next(one for one in self.view.table.record.rows if one.key == key)
        self.title.setText(f"{found.name.capitalize()} {found.tag}")

    def _missing(self) -> dict[str, Value]:
        """Give the words that can be proposed for what is empty of the alarm in hand."""
        key = self.view.table.key
        alarm = getattr(self.document.project.bands, key, None) if key else None
        if alarm is None or self.shown is None:
            return {}
        from levelbench.alarms.rationale import proposed  # noqa: PLC0415  the rig comes in when it is wanted

        words = zip(_PROPOSED, proposed(self.shown.rig, key), strict=True)
        return {f"bands.{key}.{entry}": told for entry, told in words if not getattr(alarm, entry).strip()}

    def _offer(self) -> None:
        self.propose.setVisible(bool(self._missing()))

    def _propose(self) -> None:
        edits = self._missing()
        if edits and self.adopt(edits, f"words for the {name_of(f'bands.{self.view.table.key}')} alarm"):
            self.state.setText(_OWN)

    # the file ----------------------------------------------------------------------------------------------------

    def _ask(self) -> None:
        """Ask for a file and save the record."""
        name = f"{file_name(self.document.project.title)} alarms.csv"
        path = ask_where_by_kind(self, "Save record of the alarms", name, _KINDS)
        if path is not None:
            self.save_to(path)

    def save_to(self, path: Path) -> None:
        """Save the record as it is now."""
        if self.shown is None:
            return
        work = partial(_save, self.shown.rig, path)
        self.job_line.follow(Job(self, work, self._saved, self._could_not, key="save", title=f"Saving {path.name}"))

    def _saved(self, path: Path) -> None:
        self.state.setText(f"✓ Saved as {path.name}.")

    def _could_not(self, error: Exception) -> None:
        self.state.setText(f"✗ {words_of(error)}")


def _save(rig: Rig, path: Path, _progress: Progress) -> Path:
    from levelbench.alarms.record_csv import write_record  # noqa: PLC0415  the rig comes in when it is wanted

    write_record(rig, path)
    return path
