"""Ladder: every alarm in every unit, the one in hand in full, and warnings while a value is being moved."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from levelbench.gui.bands.alarm_card import AlarmCard
from levelbench.gui.bands.alarm_table import AlarmTable
from levelbench.gui.bands.band_values import proposal
from levelbench.gui.bands.rows import BY_KEY, COLUMNS, ROWS
from levelbench.gui.bands.whole_table import WholeTable
from levelbench.gui.document.document import Document
from levelbench.gui.fields.entry_keys import in_words, sections, typed
from levelbench.gui.fields.forms import Form, help_for
from levelbench.gui.findings.what_if import Trier, WhatIf
from levelbench.gui.look.folded import Folded
from levelbench.gui.look.parts import button, holder, line, restyle, row, text
from levelbench.gui.look.turns import put_in_turn
from levelbench.gui.ways.way import Way
from levelbench.gui.work.answers import Answers, Checked
from levelbench.project import ProjectProblems
from levelbench.project.fields import entries

if TYPE_CHECKING:
    from collections.abc import Mapping

    from levelbench.project import Value
    from levelbench.review.finding import Finding

_ROLES = {"stop": "stop", "attend": "attention"}
_RULES = ("ladder.", "bands.", "alarms.", "switch.clear_of_set_point")  # what the limits can put right or wrong
_HANDLING = "alarm_handling"
_WHOLE = "The whole table"


class Ladder(Way):
    """A table of the alarms, the chosen one in full, and what the review says of them."""

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__(document, answers)
        self._trier = Trier(document, self, predicts=False)
        self._in_hand = ""  # the key of what is being typed or dragged here
        self._left_out: dict[str, dict[str, Value]] = {}  # what an alarm was before it was left out
        self.table, self.card = AlarmTable(COLUMNS), AlarmCard(document)
        self.warnings = text("", "quiet", wrap=True)
        self.large = button(_WHOLE, self._widen, tip="show every entry of every alarm in place of drawing and trend")
        self.large.setCheckable(True)
        self.handling = Folded("how alarms are handled", lambda: self._handling)
        self._help = text("", "small", wrap=True)
        self._help.hide()
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
        self._follow(self.table)
        self.card.help_wanted.connect(self._show_help)
        self.card.tried.connect(self._try)
        self.card.given_up.connect(self._give_up)
        self.card.adopted.connect(self._adopt)
        self._trier.done.connect(self._tried)
        self._trier.refused.connect(self._not_tried)
        self.document.project_changed.connect(lambda _project: self._trier.stop())
        self.document.project_changed.connect(lambda _project: self.when_seen(self._refresh))
        self.document.replaced.connect(self._forget)
        self.answers.checked_changed.connect(lambda: self.when_seen(self._refresh))

    def _follow(self, table: AlarmTable) -> None:
        table.chosen.connect(self._choose)
        table.used.connect(self._use)
        table.previewed.connect(self._try)
        table.handed_in.connect(self._take)
        table.given_up.connect(self._give_up)

    @cached_property
    def _handling(self) -> Form:
        """How the house lives with alarms; made when it is unfolded."""
        form = Form(self.document, [f"{_HANDLING}.{name}" for name in entries(sections()[_HANDLING])])
        form.help_wanted.connect(self._show_help)
        return form

    @cached_property
    def whole(self) -> WholeTable:
        """The whole table; made when it is first wanted."""
        made = WholeTable()
        made.setProperty("help", "alarms#the-whole-table")
        made.back.clicked.connect(self.large.click)
        made.made.connect(self._whole_made)
        return made

    def _whole_made(self) -> None:
        put_in_turn(self.whole.table, self.whole.back)
        self.whole.table.choose(self.alarm)
        self._follow(self.whole.table)
        self._refresh()

    @property
    def _tables(self) -> list[AlarmTable]:
        whole = vars(self).get("whole")
        return [self.table, *([whole.table] if isinstance(whole, WholeTable) and whole.is_made else [])]

    @property
    def alarm(self) -> str:
        """The key of the chosen alarm: "high"."""
        return self.table.alarm

    def _widen(self) -> None:
        """Show the whole table in the room of drawing and trend, or give the room back; one table at a time."""
        self.wide = self.whole if self.large.isChecked() else None
        if self.wide is not None:
            self.whole.make()
        self.table.setVisible(self.wide is None)
        self._refresh()

    def go_to(self, key: str, *, focus: bool = True) -> bool:
        """Show the alarm that an entry belongs to, with the cursor in its field; False when it is no alarm's."""
        section, _, rest = key.partition(".")
        alarm, _, name = rest.partition(".")
        if section == _HANDLING:
            self.handling.open()
            return self._handling.focus_on(key, focus=focus)
        if section != "bands" or alarm not in BY_KEY:
            return False
        self.table.choose(alarm)
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
        for table in self._tables:
            if table.alarm != alarm:
                table.choose(alarm)  # comes back here only when it is another
        self.card.show_alarm(alarm)
        self._refresh()
        if BY_KEY[alarm].entry:
            self.looked_at.emit(BY_KEY[alarm].entry)

    def _show_help(self, key: str) -> None:
        self._help.setText(help_for(key))
        self._help.show()
        self.looked_at.emit(key)

    def _use(self, alarm: str, use: bool) -> None:
        """Take an alarm into use, as it was before or where it is proposed, or leave it out."""
        project, checked = self.document.project, self.answers.checked
        if not use:
            was = typed(project, f"bands.{alarm}")
            self._left_out[alarm] = {f"bands.{alarm}.{key}": value for key, value in (was or {}).items()}
            self._edit({f"bands.{alarm}": None})
            return
        edits = self._left_out.get(alarm)
        if not edits and checked is not None:
            from levelbench.rig.bench import Bench  # noqa: PLC0415  the rig comes in when it is wanted

            edits = proposal(Bench(checked.rig), checked.ladder, alarm)
        if edits:
            self._edit(edits, f"take {BY_KEY[alarm].name} alarm into use")

    def _take(self, edits: dict[str, Value]) -> None:
        self._edit(edits)
        if self.answers.checked is not None and not any(table.reason.isVisible() for table in self._tables):
            self._give_up()

    def _adopt(self, finding: Finding) -> None:
        self._trier.stop()
        try:
            self.document.adopt(dict(finding.what_if), finding.title)
        except ProjectProblems as error:
            self._refuse(error.problems[0].message)

    def _edit(self, edits: Mapping[str, Value], words: str = "") -> None:
        self._trier.stop()
        changes = dict(edits)
        try:
            self.document.edit_several(changes, words)
        except ProjectProblems as error:
            self._refuse(error.problems[0].message)
            for table in self._tables:
                table.show_project(self.document.project, self.answers.checked)

    def _refuse(self, reason: str) -> None:
        for table in self._tables:
            table.refuse(reason)

    def _forget(self, _project: object) -> None:
        """Another project was opened: nothing half-typed or left out belongs to it."""
        self._left_out = {}
        for table in self._tables:
            table.take_back()

    # what is and what would be -----------------------------------------------------------------------------------

    def _refresh(self) -> None:
        project, checked = self.document.project, self.answers.checked
        for table in self._tables:
            table.show_project(project, checked)
        self.card.refresh(checked)
        if checked is not None:
            self._warn(checked, tried=False)

    def _tried(self, outcome: WhatIf) -> None:
        self._show(outcome.checked, tried=True)

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
        for table in self._tables:
            table.follow(checked)
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
        restyle(self.warnings, role=_ROLES[bad[0].severity.word] if bad else "quiet")
