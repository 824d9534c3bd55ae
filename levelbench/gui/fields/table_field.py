"""A field for a table: one row of cells each, rows added and removed by buttons, a spreadsheet's cells pasted in.

The rows go into the project together as soon as each of them is complete: one undo step a change.
"""

import re
from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence
from PySide6.QtWidgets import QHeaderView, QTableWidget, QTableWidgetItem, QVBoxLayout, QWidget

from levelbench.gui.fields.entry_keys import in_words, name_of
from levelbench.gui.fields.field import Field, Submit
from levelbench.gui.look.parts import button, text
from levelbench.project import Value
from levelbench.project.fields import entries
from levelbench.project.records import DeadWood

_NAMES = {"tank.table": ("", ""), "tank.dead_wood": tuple(entries(DeadWood))}  # the cells' names in the file
_HEADS = {
    "tank.table": ("level", "volume"),
    "tank.dead_wood": tuple(one.label for one in entries(DeadWood).values()),
}
_MAY_BE_EMPTY = {"tank.dead_wood": ("bottom",)}
KEYS = tuple(_HEADS)
_SHOWN = 4  # rows without scrolling
_ROW = 26  # px
_UNIT_IN_HEAD = re.compile(r"[\[(]\s*([^\])]+?)\s*[\])]")  # "level (mm)"


class Cells(QTableWidget):
    """The grid of the cells: Ctrl+V pastes rows, Ctrl+C copies them, Delete empties."""

    def __init__(self, heads: tuple[str, ...]) -> None:
        super().__init__(0, len(heads))
        self.setHorizontalHeaderLabels(list(heads))
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.horizontalHeader().setStretchLastSection(True)
        self.setHorizontalScrollMode(QTableWidget.ScrollMode.ScrollPerPixel)
        self.horizontalHeader().setHighlightSections(False)
        self.verticalHeader().setDefaultSectionSize(_ROW)
        self.verticalHeader().setFixedWidth(24)
        self.setFixedHeight((_SHOWN + 1) * _ROW + 4)
        self.setTabKeyNavigation(False)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802  Qt's name
        """Paste, copy and empty; everything else is as in every table."""
        if event.matches(QKeySequence.StandardKey.Paste):
            self.paste(QGuiApplication.clipboard().text())
        elif event.matches(QKeySequence.StandardKey.Copy):
            QGuiApplication.clipboard().setText(self.copied())
        elif event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            for item in self.selectedItems():
                item.setText("")
        else:
            super().keyPressEvent(event)

    def rows(self) -> list[list[str]]:
        """Give the texts of every row that has any."""
        every = [[self._text(at, cell) for cell in range(self.columnCount())] for at in range(self.rowCount())]
        return [one for one in every if any(one)]

    def put(self, rows: list[list[str]]) -> None:
        """Show these rows in the place of the ones before."""
        self.blockSignals(True)
        self.setRowCount(len(rows))
        for at, cells in enumerate(rows):
            for cell, words in enumerate(cells):
                self.setItem(at, cell, QTableWidgetItem(words))
        self.blockSignals(False)

    def copied(self) -> str:
        """Give the chosen cells, or all, as a spreadsheet takes them."""
        chosen = self.selectedRanges()
        if not chosen or (chosen[0].rowCount() == 1 and chosen[0].columnCount() == 1):
            return "\n".join("\t".join(one) for one in self.rows())
        span = chosen[0]
        columns = range(span.leftColumn(), span.rightColumn() + 1)
        rows = range(span.topRow(), span.bottomRow() + 1)
        return "\n".join("\t".join(self._text(at, cell) for cell in columns) for at in rows)

    def paste(self, words: str) -> None:
        """Put rows of a spreadsheet in from the current cell on; a bare number takes the unit of its column."""
        lines = [re.split(r"[\t;]", line) for line in words.splitlines() if line.strip()]
        if not lines:
            return
        at, cell = max(self.currentRow(), 0), max(self.currentColumn(), 0)
        units = [self._unit_of(column) for column in range(self.columnCount())]
        if not any(any(letter.isdigit() for letter in one) for one in lines[0]) and len(lines) > 1:
            for column, head in enumerate(lines.pop(0), start=cell):
                if column < len(units) and (found := _UNIT_IN_HEAD.search(head)):
                    units[column] = found.group(1)
        rows = [[self._text(one, column) for column in range(self.columnCount())] for one in range(self.rowCount())]
        rows += [[""] * self.columnCount() for _ in range(at + len(lines) - len(rows))]
        for down, line in enumerate(lines):
            for column, one in list(enumerate(line, start=cell))[: self.columnCount() - cell]:
                bare = re.fullmatch(r"[-+−]?[\d.,]+", one.strip())
                rows[at + down][column] = f"{one.strip()} {units[column]}".strip() if bare else one.strip()
        self.put(rows)
        self.setCurrentCell(at, cell)
        self.cellChanged.emit(at, cell)

    def _text(self, at: int, cell: int) -> str:
        item = self.item(at, cell)
        return item.text().strip() if item is not None else ""

    def _unit_of(self, column: int) -> str:
        """Give the unit that stands in the first cell of a column, "" where there is none."""
        found = re.match(r"[-+−]?[\d.,/ ]+\s*(.*)", self._text(0, column))
        return found.group(1) if found else ""


class TableField(Field):
    """Several rows that belong together."""

    low = False
    wide = True

    def __init__(self, key: str, submit: Submit) -> None:
        self.box = Cells(_HEADS[key])
        self.unfinished = text("", "small", wrap=True)
        self.unfinished.hide()
        super().__init__(key, submit)
        self.box.cellChanged.connect(self._changed)
        layout = self.layout()
        assert isinstance(layout, QVBoxLayout)
        layout.insertWidget(2, self.unfinished)

    def boxes(self) -> list[QWidget]:
        """Give the grid."""
        return [self.box]

    def beside_boxes(self) -> list[QWidget]:
        """Give the buttons over the grid."""
        name = name_of(self.key)
        self.add = button("Add a row", self.add_row, "link", f"add a row to {name}")
        self.remove = button("Remove", self.remove_row, "link", f"remove the chosen row from {name}")
        return [self.add, self.remove]

    def value(self) -> Value:
        """Give the rows as the file keeps them; None when there are none."""
        rows = self.box.rows()
        names = _NAMES[self.key]
        if not any(names):
            return rows or None
        return [{name: one for name, one in zip(names, cells, strict=True) if one} for cells in rows] or None

    def put(self, value: Any) -> None:
        """Show the rows."""
        names = _NAMES[self.key]
        found = [[one.get(name, "") for name in names] if any(names) else list(one) for one in value or ()]
        self.box.put([[in_words(cell) for cell in cells] for cells in found])
        self._say_what_is_missing()

    def add_row(self) -> None:
        """Begin a row under the others."""
        self.box.setRowCount(self.box.rowCount() + 1)
        self.box.setCurrentCell(self.box.rowCount() - 1, 0)
        self.box.setFocus()

    def remove_row(self) -> None:
        """Take the chosen row away, or the last one where none is chosen."""
        at = self.box.currentRow() if self.box.currentRow() >= 0 else self.box.rowCount() - 1
        if at >= 0:
            self.box.removeRow(at)
            self._changed(at, 0)

    def hand_in(self) -> None:
        """Give the rows to the project when each is complete; else say which is not, and keep them."""
        if self.touched and not self._say_what_is_missing():
            super().hand_in()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802  Qt's name
        """Keep Escape and leaving for the cell that is being typed in; the rest is as in every field."""
        if event.type() == QEvent.Type.FocusOut and self.box.state() == QTableWidget.State.EditingState:
            return False
        return super().eventFilter(watched, event)

    def _changed(self, _at: int, _cell: int) -> None:
        self.touched = True
        self.hand_in()

    def _say_what_is_missing(self) -> bool:
        """Say which cells are still empty. Gives whether there are any."""
        names, heads = _NAMES[self.key], _HEADS[self.key]
        missing = [
            f"row {at}: {', '.join(lacking)}"
            for at, cells in enumerate(self.box.rows(), start=1)
            if (
                lacking := [
                    head
                    for cell, head, name in zip(cells, heads, names, strict=True)
                    if not cell and name not in _MAY_BE_EMPTY.get(self.key, ())
                ]
            )
        ]
        words = f"○ Still empty in {'; '.join(missing)}. Taken up when complete."
        self.unfinished.setText(words if missing else "")
        self.unfinished.setVisible(bool(missing))
        if missing:
            self.bring_up(self.unfinished)
        return bool(missing)
