"""Ladder: the limits in every unit, the one in hand in full, and warnings while a value is being moved."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QVBoxLayout

from levelbench.gui.bands.band_values import proposal, spread_figures
from levelbench.gui.bands.bands_table import BANDS, BandsTable
from levelbench.gui.document.document import Document
from levelbench.gui.fields.entry_keys import in_words, name_of, typed
from levelbench.gui.fields.forms import Form, help_for
from levelbench.gui.findings.what_if import Trier, WhatIf
from levelbench.gui.look.figures import FigureRow
from levelbench.gui.look.parts import Note, button, clear, holder, line, restyle, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.ways.way import Way
from levelbench.gui.work.answers import Answers, Checked
from levelbench.project import ProjectProblems, units

if TYPE_CHECKING:
    from collections.abc import Mapping

    from levelbench.project import Value
    from levelbench.review.finding import Finding

_LETTERS = {"high_high": "AHH", "high": "AH", "low": "AL", "low_low": "ALL", "deviation": "DA"}
_ENTRIES = ("limit", "dead_band", "on_delay", "off_delay", "priority")
_ROLES = {"stop": "stop", "attend": "attention"}
_RULES = ("ladder.", "bands.", "switch.clear_of_set_point")  # what the limits can put right or wrong


class Ladder(Way):
    """A table of the limits, the form of the chosen one, and what the review says of them."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self._trier = Trier(document, self, predicts=False)
        self._forms: dict[str, Form] = {}
        self._in_hand = ""  # the key of what is being typed or dragged here
        self._left_out: dict[str, dict[str, Value]] = {}  # what a limit was before it was left out
        self.table = BandsTable()
        self.warnings = text("", "quiet", wrap=True)
        self._help = text("", "small", wrap=True)
        self._help.hide()
        self.name, self.tag = text("", "subheading"), text("", "quiet")
        self._form_place, self._noise, self._said = QVBoxLayout(), QVBoxLayout(), QVBoxLayout()
        for place in (self._noise, self._said):
            place.setSpacing(GRID // 2)
            place.setContentsMargins(0, 0, 0, 0)
        self._build()
        self._connect()
        self.table.choose("high_high")

    def _build(self) -> None:
        self.body.addWidget(self.table)
        self.body.addWidget(self.warnings)
        self.body.addWidget(line())
        self.body.addLayout(row(self.name, None, self.tag))
        self.body.addLayout(self._form_place)
        self.body.addWidget(holder(self._noise))
        self.body.addWidget(line())
        self.body.addWidget(holder(self._said))
        self.body.addStretch(1)
        self.foot.addWidget(self._help)

    def _connect(self) -> None:
        self.table.chosen.connect(self._choose)
        self.table.used.connect(self._use)
        self.table.previewed.connect(self._try)
        self.table.handed_in.connect(self._take)
        self.table.given_up.connect(self._give_up)
        self._trier.done.connect(self._tried)
        self._trier.refused.connect(self._not_tried)
        self.document.project_changed.connect(lambda _project: self._trier.stop())
        self.document.project_changed.connect(lambda _project: self.when_seen(self._refresh))
        self.answers.checked_changed.connect(lambda: self.when_seen(self._refresh))

    @property
    def band(self) -> str:
        """The key of the chosen limit: "high"."""
        return self.table.band

    def go_to(self, key: str, *, focus: bool = True) -> bool:
        """Show the limit that an entry belongs to, with the cursor in its field; False when it is no limit's."""
        section, _, rest = key.partition(".")
        band, _, name = rest.partition(".")
        if section != "bands" or band not in BANDS:
            return False
        self.table.choose(band)
        return self._forms[band].focus_on(f"bands.{band}.{name or 'limit'}", focus=focus)

    def follow_drag(self, key: str, words: str) -> None:
        """Tell what would be with a height that is being dragged on the drawing; "": it is given up."""
        if not self.isVisible():
            return
        for form in self._forms.values():
            field = form.fields.get(key)
            if field is not None:
                field.refresh(words or typed(self.document.project, key))
        if words:
            self._trier.begin({key: words})
        else:
            self._give_up()

    def _try(self, edits: dict[str, Value]) -> None:
        """Warn of what a limit would do with what is being typed or dragged, and show it; edits nothing."""
        self._in_hand = next(iter(edits))
        self._trier.begin(edits)
        self.tried.emit(self._in_hand, in_words(edits[self._in_hand]))

    # the chosen limit --------------------------------------------------------------------------------------------

    def _choose(self, band: str) -> None:
        if band not in self._forms:
            form = Form(self.document, [f"bands.{band}.{name}" for name in _ENTRIES])
            form.help_wanted.connect(self._show_help)
            form.tried.connect(self._try)
            form.given_up.connect(self._give_up)
            self._forms[band] = form
            self._form_place.addWidget(form)
        for each, form in self._forms.items():
            form.setVisible(each == band)
        self._refresh()
        self.looked_at.emit(f"bands.{band}.limit")

    def _show_help(self, key: str) -> None:
        self._help.setText(help_for(key))
        self._help.show()
        self.looked_at.emit(key)

    def _use(self, band: str, use: bool) -> None:
        """Take a limit into use, as it was before or half-way between its neighbours, or leave it out."""
        project, checked = self.document.project, self.answers.checked
        if not use:
            was = typed(project, f"bands.{band}")
            self._left_out[band] = {f"bands.{band}.{name}": value for name, value in (was or {}).items()}
            self._edit({f"bands.{band}": None})
            return
        edits = self._left_out.get(band)
        if not edits and checked is not None:
            from levelbench.rig.bench import Bench  # noqa: PLC0415  the rig comes in when it is wanted

            edits = {f"bands.{band}.limit": proposal(Bench(checked.rig), checked.ladder, band)}
        if edits:
            self._edit(edits, f"take {BANDS[band]} limit into use")

    def _take(self, edits: dict[str, Value]) -> None:
        self._edit(edits)
        if self.answers.checked is not None and not self.table.reason.isVisible():
            self._give_up()

    def _adopt(self, finding: Finding) -> None:
        self._trier.stop()
        try:
            self.document.adopt(dict(finding.what_if), finding.title)
        except ProjectProblems as error:
            self.table.refuse(error.problems[0].message)

    def _edit(self, edits: Mapping[str, Value], words: str = "") -> None:
        self._trier.stop()
        changes = dict(edits)
        try:
            self.document.edit_several(changes, words)
        except ProjectProblems as error:
            self.table.refuse(error.problems[0].message)
            self.table.show_project(self.document.project, self.answers.checked)

    # what is and what would be -----------------------------------------------------------------------------------

    def _refresh(self) -> None:
        project, checked = self.document.project, self.answers.checked
        self.name.setText(BANDS[self.band].capitalize())
        self.tag.setText(f"{project.first_letter}{_LETTERS[self.band]}-{project.loop}")
        self.table.show_project(project, checked)
        clear(self._noise)
        clear(self._said)
        if checked is not None:
            self._warn(checked, tried=False)
            self._say(checked)

    def _tried(self, outcome: WhatIf) -> None:
        self.table.follow(outcome.checked)
        self._warn(outcome.checked, tried=True)

    def _not_tried(self, reason: str) -> None:
        self.warnings.setText(f"■ {reason}")
        restyle(self.warnings, role="stop")

    def _give_up(self) -> None:
        self._trier.stop()
        if self._in_hand:
            self.tried.emit(self._in_hand, "")
            self._in_hand = ""
        if self.answers.checked is not None:
            self.table.follow(self.answers.checked)
            self._warn(self.answers.checked, tried=False)

    def _warn(self, checked: Checked, *, tried: bool) -> None:
        """Say under the table what the rules on the limits find, now or with the value that is being moved."""
        bad = [one for one in checked.findings if one.severity.word != "good" and one.key.startswith(_RULES)]
        lines = [f"{one.severity.mark} {one.title}: {one.text}" for one in bad]
        words = "\n".join(lines) or "✓ The rules on the limits are met."
        self.warnings.setText(f"If taken:\n{words}" if tried else words)
        restyle(self.warnings, role=_ROLES[bad[0].severity.word] if bad else "quiet")

    def _say(self, checked: Checked) -> None:
        """Show the noise beside the dead band, and what the review says of the chosen limit."""
        from levelbench.rig.bench import Bench  # noqa: PLC0415  the rig comes in when it is wanted

        shown_in = units(self.document.project)
        for figure in spread_figures(Bench(checked.rig), self.band):
            self._noise.addWidget(FigureRow(figure, shown_in))
        for finding in (one for one in checked.findings if _concerns(one, self.band)):
            role = _ROLES.get(finding.severity.word, "body")
            what = " · ".join(f"{name_of(key)} {in_words(value)}" for key, value in finding.what_if.items())
            take = partial(self._adopt, finding)
            buttons = [button("Take it", take, "", f"take it, one undo step: {what}")] if finding.what_if else []
            words = f"{finding.severity.mark} {finding.title}. {finding.text} {finding.change}".strip()
            self._said.addWidget(Note(words, role, *buttons))
            for figure in (one for one in finding.figures if _is_of(one.key, self.band)):
                self._said.addWidget(FigureRow(figure, shown_in))


def _concerns(finding: Finding, band: str) -> bool:
    """Tell whether a finding is about a limit: it points at it, or it would change it."""
    front = f"bands.{band}."
    return finding.go_to.startswith(front) or any(key.startswith(front) for key in finding.what_if)


def _is_of(key: str, band: str) -> bool:
    """Tell whether a finding's figure is about a limit or about all of them."""
    others = [one for one in BANDS if one != band]
    return not any(key.endswith(f".{one}") or f".{one}." in key for one in others)
