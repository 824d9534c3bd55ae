"""Alarms: the five limits in the order of the ladder, in volume, height and current, and the one in hand in full."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QButtonGroup, QGridLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from levelbench.gui.answers import Answers, Checked
from levelbench.gui.document import Document
from levelbench.gui.entry_keys import typed
from levelbench.gui.figures import FigureRow
from levelbench.gui.forms import Form, help_for
from levelbench.gui.parts import Card, Note, button, clear, holder, line, row, text
from levelbench.gui.theme import GRID
from levelbench.project import ProjectProblems, units
from levelbench.quantity import Dimension

BANDS = {"high_high": "high-high", "high": "high", "low": "low", "low_low": "low-low", "deviation": "deviation"}
_LETTERS = {"high_high": "AHH", "high": "AH", "low": "AL", "low_low": "ALL", "deviation": "DA"}
_ENTRIES = ("limit", "dead_band", "on_delay", "off_delay", "priority")
_ROLES = {"stop": "stop", "attend": "attention"}


class Alarms(Card):
    """A table of the five limits, and the form of the chosen one."""

    looked_at = Signal(str)  # key: the drawing may point at it

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__("Alarm limits")
        self._document = document
        self._answers = answers
        self._buttons = QButtonGroup(self)
        self.cells: dict[str, list[QLabel]] = {}
        self._forms: dict[str, Form] = {}
        self._help = text("", "small", wrap=True)
        self._help.setMinimumHeight(28)
        self.name, self.tag = text("", "subheading"), text("", "quiet")
        self.leave_out = button("Leave this limit out", self._leave_out, "link")
        self._said = QVBoxLayout()
        self._said.setSpacing(GRID)
        self.body.addWidget(self._table())
        self.body.addWidget(line())
        self.body.addLayout(row(self.name, None, self.tag))
        self._form_place = QVBoxLayout()
        self.body.addLayout(self._form_place)
        self.body.addLayout(row(self.leave_out, None))
        self.body.addWidget(line())
        self.body.addLayout(self._said)
        self.body.addStretch(1)
        self.foot.addWidget(line())
        self.foot.addWidget(self._help)
        self._buttons.idToggled.connect(self._choose)
        document.project_changed.connect(lambda _project: self.when_seen(self._refresh))
        answers.checked_changed.connect(lambda: self.when_seen(self._refresh))
        self._buttons.button(1).setChecked(True)

    @property
    def band(self) -> str:
        """The key of the chosen limit: "high"."""
        return list(BANDS)[self._buttons.checkedId()]

    def go_to(self, key: str, *, focus: bool = True) -> bool:
        """Show the limit that an entry belongs to, with the cursor in its field; False when it is no limit's."""
        section, _, rest = key.partition(".")
        band, _, name = rest.partition(".")
        if section != "bands" or band not in BANDS:
            return False
        self._buttons.button(list(BANDS).index(band)).setChecked(True)
        return self._forms[band].focus_on(f"bands.{band}.{name or 'limit'}", focus=focus)

    def _table(self) -> QWidget:
        grid = QGridLayout()
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(GRID)
        grid.setVerticalSpacing(GRID // 2)
        for at, words in enumerate(("limit", "volume", "height", "signal", "to spill")):
            grid.addWidget(text(words, "small"), 0, at)
        for at, (band, name) in enumerate(BANDS.items()):
            made = QPushButton(name)
            made.setProperty("role", "part")
            made.setCheckable(True)
            made.setAccessibleName(f"limit: {name}")
            self._buttons.addButton(made, at)
            grid.addWidget(made, at + 1, 0)
            self.cells[band] = [text("", "body") for _ in range(4)]
            for column, cell in enumerate(self.cells[band]):
                grid.addWidget(cell, at + 1, column + 1)
        return holder(grid)

    def _choose(self, _at: int, on: bool) -> None:
        if not on:
            return
        if self.band not in self._forms:
            form = Form(self._document, [f"bands.{self.band}.{name}" for name in _ENTRIES])
            form.help_wanted.connect(self._show_help)
            self._forms[self.band] = form
            self._form_place.addWidget(form)
        for band, form in self._forms.items():
            form.setVisible(band == self.band)
        self._refresh()
        self.looked_at.emit(f"bands.{self.band}.limit")

    def _show_help(self, key: str) -> None:
        self._help.setText(help_for(key))
        self.looked_at.emit(key)

    def _leave_out(self) -> None:
        try:
            self._document.edit(f"bands.{self.band}", None)
        except ProjectProblems as error:
            self._help.setText(str(error))

    def _refresh(self) -> None:
        project, checked = self._document.project, self._answers.checked
        for band in BANDS:
            self._fill(band, checked)
        letters = f"{project.first_letter}{_LETTERS[self.band]}-{project.loop}"
        self.name.setText(BANDS[self.band].capitalize())
        self.tag.setText(letters)
        self.leave_out.setVisible(typed(project, f"bands.{self.band}") is not None)
        self._say(checked)

    def _fill(self, band: str, checked: Checked | None) -> None:
        """Fill one row of the table: as typed, and what that means on this tank."""
        limit = typed(self._document.project, f"bands.{band}.limit")
        shown_in = units(self._document.project)
        rung = next((one for one in checked.ladder if one.entry == f"bands.{band}.limit"), None) if checked else None
        words = ["not used", "", "", ""]
        if limit is not None:
            step = self._document.project.loop_settings.entry_step.si / 2
            words[0] = shown_in.show(getattr(self._document.project.bands, band).limit.si, Dimension.VOLUME, step)
        if rung is not None and checked is not None:
            words[1] = shown_in.show(rung.level, Dimension.LENGTH, 1e-3)
            words[2] = shown_in.show(signal_at(checked, rung.level), Dimension.CURRENT, 1e-4)
            words[3] = shown_in.show(rung.seconds_to_spill, Dimension.TIME, 1.0)
        for cell, word in zip(self.cells[band], words, strict=True):
            cell.setText(word)

    def _say(self, checked: Checked | None) -> None:
        """Show what the review says of the chosen limit."""
        clear(self._said)
        if checked is None:
            return
        shown_in = units(self._document.project)
        about = [one for one in checked.findings if one.go_to.startswith(f"bands.{self.band}.")]
        for finding in about:
            role = _ROLES.get(finding.severity.word, "body")
            self._said.addWidget(Note(f"{finding.severity.mark} {finding.title}. {finding.text}", role))
            for figure in finding.figures:
                self._said.addWidget(FigureRow(figure, shown_in))
            if finding.change:
                self._said.addWidget(text(finding.change, "strong", wrap=True))


def signal_at(checked: Checked, level: float) -> float:
    """Give the current [A] that the sensor's scaling means for a level [m]; a straight line from 4 mA to 20 mA."""
    from levelbench.review.bench import Bench  # noqa: PLC0415  the rig comes in when it is wanted

    low, high = Bench(checked.rig).signal_levels
    return 0.004 + 0.016 * (level - low) / (high - low)
