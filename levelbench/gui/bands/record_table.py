"""The record of the alarms as a table: one row an alarm, its words in full, what is missing marked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QRect, Qt, Signal
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QAbstractItemView, QHeaderView

from levelbench.gui.look import theme
from levelbench.gui.look.row_table import RowTable
from levelbench.handover.told import value_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from levelbench.alarms.rationale import Row
    from levelbench.quantity import Units

_Index = QModelIndex | QPersistentModelIndex
HEAD = ("alarm, priority", "cause", "consequence", "operator action", "time available", "basis")
ACTION = 3  # its column
_NARROW = (0, 4)  # columns as wide as their heads; the others share the rest
_HEAD = 11  # px beside the words of a head
_ROOM = 6  # px under the words of a row
_BESIDE = 12  # px beside the words of a cell
_MISSING = "–"
NO_ALARM = "▲ not an alarm: nobody has anything to do"


class RecordModel(QAbstractTableModel):
    """What stands in the table."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: tuple[Row, ...] = ()
        self._units: Units | None = None

    def show_rows(self, rows: Sequence[Row], shown_in: Units) -> None:
        """Show another record."""
        self.beginResetModel()
        self.rows, self._units = tuple(rows), shown_in
        self.endResetModel()

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: N802, B008  Qt's name and default
        """Give how many alarms there are."""
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: N802, B008  Qt's name and default
        """Give how many columns there are."""
        return 0 if parent.isValid() else len(HEAD)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Give what a cell shows, and how."""
        row, column = self.rows[index.row()], index.column()
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return self.words(row, column)
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{row.name}, {HEAD[column]}: {self.words(row, column)}"
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop
        if role == Qt.ItemDataRole.FontRole and column in (0, ACTION):
            return theme.font(theme.SMALL, bold=column == 0 or not row.is_alarm)
        return None

    def words(self, row: Row, column: int) -> str:
        """Give what stands in a cell."""
        if column == 0:
            more = "" if row.priority == row.suggested else f"\n(suggested {row.suggested})"
            same = f"\n▲ the same as {', '.join(row.same_as)}" if row.same_as else ""
            return f"{row.name}\n{row.tag}\n{row.priority}{more}{same}"
        if column == ACTION:
            return row.action if row.is_alarm else NO_ALARM
        if column == ACTION + 1:
            return self._time(row)
        return (row.cause, row.consequence, "", "", row.basis)[column - 1] or _MISSING

    def _time(self, row: Row) -> str:
        worked = "" if self._units is None else f"{value_of(row.time, self._units)}, worked out"
        return worked if row.time_typed is None else f"{row.time_typed.shown}, as typed\n{worked}"

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:  # noqa: N802  Qt's name
        """Give the head of a column."""
        if orientation is not Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        return HEAD[section] if role == Qt.ItemDataRole.DisplayRole else None


class RecordTable(RowTable):
    """Shows the record and says which alarm is in hand."""

    chosen = Signal(str)  # key of the section bands

    def __init__(self) -> None:
        record = RecordModel()
        super().__init__(record, "what each alarm is there for")
        self.record = record
        self.setWordWrap(True)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)

    def show_rows(self, rows: Sequence[Row], shown_in: Units) -> None:
        """Show a record; the alarm that was in hand stays it."""
        self.record.show_rows(rows, shown_in)
        self.fit()
        keys = [row.key for row in self.record.rows]
        if keys:
            self.choose(self.key if self.key in keys else keys[0])
        elif self.key:
            self.key = ""
            self.chosen.emit("")

    def choose(self, key: str) -> None:
        """Take an alarm in hand."""
        keys = [row.key for row in self.record.rows]
        if key in keys:
            self.setCurrentIndex(self.record.index(keys.index(key), 0))

    def fit(self) -> None:
        """Let the words share what the heads leave, and make each row as high as they are."""
        metrics = self.horizontalHeader().fontMetrics()
        needs = [metrics.horizontalAdvance(words) + _HEAD for words in HEAD]
        for at in _NARROW:
            self.setColumnWidth(at, needs[at])
        left = self.viewport().width() - sum(needs[at] for at in _NARROW)
        wordy = set(range(len(HEAD))) - set(_NARROW)
        for at in wordy:
            needs[at] = max(needs[at], self._longest(at) + _BESIDE)
        others = sorted(wordy, key=lambda at: needs[at])
        while others:
            wide = left // len(others)
            at = others.pop()  # the one that needs most takes it first
            self.setColumnWidth(at, max(needs[at], wide))
            left -= max(needs[at], wide)
        for at, row in enumerate(self.record.rows):
            self.setRowHeight(at, max(self._high(row, column) for column in range(len(HEAD))) + _ROOM)

    def _high(self, row: Row, column: int) -> int:
        """Give the height of the words of a cell; Qt's hint breaks them in more room than they are painted in."""
        room = QRect(0, 0, self.columnWidth(column) - _BESIDE, 10_000)
        return _metrics(column).boundingRect(room, Qt.TextFlag.TextWordWrap, self.record.words(row, column)).height()

    def _longest(self, column: int) -> int:
        """Give the width of the longest word of a column: no room is so small that it would be cut."""
        words = (word for row in self.record.rows for word in self.record.words(row, column).split())
        return max((_metrics(column).horizontalAdvance(word) for word in words), default=0)

    def take(self, row: int) -> None:
        """Take an alarm in hand."""
        self.key = self.record.rows[row].key
        self.chosen.emit(self.key)


def _metrics(column: int) -> QFontMetrics:
    return QFontMetrics(theme.font(theme.SMALL, bold=column in (0, ACTION)))
