"""The table on the card, and the whole table in the room of drawing and trend: one of them is seen at a time."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from levelbench.gui.bands.alarm_table import AlarmTable
from levelbench.gui.bands.rows import COLUMNS
from levelbench.gui.bands.whole_table import WholeTable
from levelbench.gui.look.parts import button
from levelbench.gui.look.turns import put_in_turn

if TYPE_CHECKING:
    from levelbench.gui.work.answers import Checked
    from levelbench.project.records import Project

_LARGE = "The whole table"


class Tables(QObject):
    """Both tables as one: the same alarm is chosen in both, and what is done in either is told here."""

    chosen = Signal(str)  # key of the alarm
    previewed = Signal(object)  # dict of edits
    handed_in = Signal(object)  # dict of edits
    given_up = Signal()
    used = Signal(str, bool)  # key, whether it is to be in use
    changed = Signal()  # the other table is the one that is seen, or it has just been made

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.table = AlarmTable(COLUMNS)
        self.large = button(_LARGE, self._turn, tip="show every entry of every alarm in place of drawing and trend")
        self.large.setCheckable(True)
        self._every = [self.table]
        self._follow(self.table)

    @cached_property
    def whole(self) -> WholeTable:
        """The whole table; made when it is first wanted."""
        made = WholeTable()
        made.setProperty("help", "alarms#the-whole-table")
        made.back.clicked.connect(self.large.click)
        made.made.connect(self._made)
        return made

    @property
    def wide(self) -> WholeTable | None:
        """The whole table while it is wanted."""
        return self.whole if self.large.isChecked() else None

    @property
    def refused(self) -> bool:
        """Whether something that was typed stands refused."""
        return any(table.reason.isVisible() for table in self._every)

    def choose(self, alarm: str) -> None:
        """Choose an alarm in both."""
        for table in self._every:
            table.choose(alarm)

    def show_project(self, project: Project, checked: Checked | None) -> None:
        """Show the alarms of a project."""
        for table in self._every:
            table.show_project(project, checked)

    def follow(self, checked: Checked) -> None:
        """Show the alarms of a rig, of the project's or of a try."""
        for table in self._every:
            table.follow(checked)

    def refuse(self, reason: str) -> None:
        """Say why something can't be."""
        for table in self._every:
            table.refuse(reason)

    def take_back(self) -> None:
        """Forget what was typed."""
        for table in self._every:
            table.take_back()

    def _turn(self) -> None:
        if self.large.isChecked():
            self.whole.make()
        self.table.setVisible(not self.large.isChecked())
        self.changed.emit()

    def _made(self) -> None:
        """Take the whole table up once its rows are there."""
        put_in_turn(self.whole.table, self.whole.back)
        self.whole.table.choose(self.table.alarm)
        self._every.append(self.whole.table)
        self._follow(self.whole.table)
        self.changed.emit()

    def _follow(self, table: AlarmTable) -> None:
        table.chosen.connect(self.choose)
        table.chosen.connect(self.chosen)
        table.used.connect(self.used)
        table.previewed.connect(self.previewed)
        table.handed_in.connect(self.handed_in)
        table.given_up.connect(self.given_up)
