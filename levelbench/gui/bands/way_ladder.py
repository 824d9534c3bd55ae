"""Ladder: every alarm in every unit, the one in hand in full, and warnings while a value is being moved."""

from __future__ import annotations

from typing import TYPE_CHECKING

from levelbench.gui.bands.alarm_card import AlarmCard
from levelbench.gui.bands.handling import SECTION as HANDLING
from levelbench.gui.bands.handling import Handling
from levelbench.gui.bands.in_use import InUse
from levelbench.gui.bands.rows import BY_KEY, ROWS
from levelbench.gui.bands.tables import Tables
from levelbench.gui.document.document import Document
from levelbench.gui.fields.entry_keys import in_words, typed
from levelbench.gui.fields.forms import help_for
from levelbench.gui.findings.finding_note import ROLES
from levelbench.gui.findings.what_if import Trier
from levelbench.gui.look.parts import holder, line, restyle, row, text
from levelbench.gui.ways.way import Way
from levelbench.gui.work.answers import Answers, Checked
from levelbench.project import ProjectProblems

if TYPE_CHECKING:
    from collections.abc import Mapping

    from levelbench.project import Value
    from levelbench.review.finding import Finding

_RULES = ("ladder.", "bands.", "alarms.", "switch.clear_of_set_point")  # what the limits can put right or wrong


class Ladder(Way):
    """A table of the alarms, the chosen one in full, and what the review says of them."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self._trier = Trier(document, self, predicts=False)
        self._in_hand = ""  # the key of what is being typed or dragged here
        self._in_use = InUse()
        self.tables, self.card, self.handling = Tables(self), AlarmCard(document), Handling(document)
        self.table, self.large = self.tables.table, self.tables.large
        self.warnings = text("", "quiet", wrap=True)
        self._help = text("", "small", wrap=True)
        self._help.hide()
        self.table.setProperty("help", "alarms#the-ladder")
        self.card.setProperty("help", "alarms#the-chosen-alarm")
        self._build()
        self._connect()
        self.table.choose("high_high")

    def _build(self) -> None:
        for part in (self.table, holder(row(self.large, None)), self.warnings, line(), self.card, line()):
            self.body.addWidget(part)
        self.body.addWidget(self.handling)
        self.body.addStretch(1)
        self.foot.addWidget(self._help)

    def _connect(self) -> None:
        tables, card = self.tables, self.card
        tables.chosen.connect(self._choose)
        tables.used.connect(self._use)
        tables.previewed.connect(self._try)
        tables.handed_in.connect(self._take)
        tables.changed.connect(self._widen)
        card.tried.connect(self._try)
        card.adopted.connect(self._adopt)
        for part in (tables, card):
            part.given_up.connect(self._give_up)
        for one in (card, self.handling):
            one.help_wanted.connect(self._show_help)
        self._trier.done.connect(lambda outcome: self._show(outcome.checked, tried=True))
        self._trier.refused.connect(self._not_tried)
        self.document.project_changed.connect(lambda _project: self._trier.stop())
        self.document.project_changed.connect(lambda _project: self.when_seen(self._refresh))
        self.document.replaced.connect(lambda _project: self._in_use.forget())
        self.document.replaced.connect(lambda _project: tables.take_back())
        self.answers.checked_changed.connect(lambda: self.when_seen(self._refresh))

    @property
    def alarm(self) -> str:
        """The key of the chosen alarm: "high"."""
        return self.table.alarm

    def _widen(self) -> None:
        """Show the whole table in the room of drawing and trend, or give the room back."""
        self.wide = self.tables.wide
        self._refresh()

    def go_to(self, key: str, *, focus: bool = True) -> bool:
        """Show the alarm that an entry belongs to, with the cursor in its field; False when it is no alarm's.

        An alarm that is left out has no fields: typing a limit into the table takes it into use, and so does its box.
        """
        section, _, rest = key.partition(".")
        alarm, _, name = rest.partition(".")
        if section == HANDLING:
            return self.handling.go_to(key, focus=focus)
        if section != "bands" or alarm not in BY_KEY:
            return False
        self.table.choose(alarm)
        if getattr(self.document.project.bands, alarm) is None:
            row = self.table.rows[alarm]
            if focus:
                (row.cells.get("volume") or row.in_use or row.name).setFocus()
            return True
        wanted = f"bands.{alarm}.{name or 'limit'}"
        return self.card.focus_on(wanted, focus=focus) or self.card.focus_on(f"bands.{alarm}.priority", focus=focus)

    def look_at(self, key: str) -> bool:
        """Choose the alarm whose limit was pressed on in the drawing; False when it is none of the ladder's."""
        found = next((one for one in ROWS if one.entry == key), None)
        if found is not None and found.is_alarm:
            self.table.choose(found.key)
        return found is not None

    def follow_drag(self, key: str, words: str) -> None:
        """Tell what would be with a height that is being dragged on the drawing; "": it is given up."""
        if not self.isVisible():
            return
        field = self.card.fields.get(key)
        if field is not None:
            field.refresh(words or typed(self.document.project, key))
        if words:
            self._trier.begin({key: words})
        else:
            self._give_up()

    # the chosen alarm --------------------------------------------------------------------------------------------

    def _choose(self, alarm: str) -> None:
        self.card.show_alarm(alarm)
        self._refresh()
        if BY_KEY[alarm].entry:
            self.looked_at.emit(BY_KEY[alarm].entry)

    def _show_help(self, key: str) -> None:
        self._help.setText(help_for(key))
        self._help.show()
        self.looked_at.emit(key)

    def _use(self, alarm: str, use: bool) -> None:
        """Take an alarm into use or leave it out, in one undo step."""
        if not use:
            self._edit(self._in_use.leave_out(self.document.project, alarm))
        elif edits := self._in_use.take_up(self.answers.checked, alarm):
            self._edit(edits, f"take {BY_KEY[alarm].name} alarm into use")

    def _take(self, edits: dict[str, Value]) -> None:
        self._edit(edits)
        if self.answers.checked is not None and not self.tables.refused:
            self._give_up()

    def _adopt(self, finding: Finding) -> None:
        self._trier.stop()
        try:
            self.document.adopt(dict(finding.what_if), finding.title)
        except ProjectProblems as error:
            self.tables.refuse(error.problems[0].message)

    def _edit(self, edits: Mapping[str, Value], words: str = "") -> None:
        self._trier.stop()
        changes = dict(edits)
        try:
            self.document.edit_several(changes, words)
        except ProjectProblems as error:
            self.tables.refuse(error.problems[0].message)
            self.tables.show_project(self.document.project, self.answers.checked)

    # what is and what would be -----------------------------------------------------------------------------------

    def _refresh(self) -> None:
        project, checked = self.document.project, self.answers.checked
        self.tables.show_project(project, checked)
        self.card.refresh(checked)
        if checked is not None:
            self._warn(checked, tried=False)

    def _not_tried(self, reason: str) -> None:
        self.warnings.setText(f"■ {reason}")
        restyle(self.warnings, role="stop")

    def _give_up(self) -> None:
        self._trier.stop()
        if self._in_hand:
            self.tried.emit(self._in_hand, "")
            self._in_hand = ""
        if self.answers.checked is not None:
            self._show(self.answers.checked, tried=False)

    def _show(self, checked: Checked, *, tried: bool) -> None:
        self.tables.follow(checked)
        self.card.follow(checked)
        self._warn(checked, tried=tried)

    def _try(self, edits: dict[str, Value]) -> None:
        """Warn of what an alarm would do with what is being typed or dragged, and show it; edits nothing."""
        self._in_hand = next(iter(edits))
        self._trier.begin(edits)
        self.tried.emit(self._in_hand, in_words(edits[self._in_hand]))

    def _warn(self, checked: Checked, *, tried: bool) -> None:
        """Say under the table what the rules on the limits find, now or with the value that is being moved."""
        bad = [one for one in checked.findings if one.severity.word != "good" and one.key.startswith(_RULES)]
        lines = [f"{one.severity.mark} {one.title}: {one.text}" for one in bad]
        words = "\n".join(lines) or "✓ The rules on the limits are met."
        self.warnings.setText(f"If taken:\n{words}" if tried else words)
        restyle(self.warnings, role=ROLES[bad[0].severity.word] if bad else "quiet")
