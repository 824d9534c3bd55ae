"""A field for a table: one row a line, its cells apart by a semicolon or a tab, so that a spreadsheet can be pasted."""

import re
from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QPlainTextEdit, QWidget

from levelbench.gui.entry_keys import in_words
from levelbench.gui.fields import Field
from levelbench.project import Value

# the cells of a row that has names in the file; rows of other tables are plain lists
_NAMED = {"tank.dead_wood": ("name", "diameter", "bottom", "top")}
_SHAPES = {
    "tank.table": "level; volume\n0 in; 0 gal\n15 in; 7.3 gal",
    "tank.dead_wood": "name; diameter; from; to\ndip tube; 0.5 in; 1 in; 15 in",
}
KEYS = tuple(_SHAPES)


class LinesField(Field):
    """Several rows at once; they go into the project together, on leaving the box or with Ctrl+Enter."""

    low = False

    def boxes(self) -> list[QWidget]:
        """Give the one box."""
        if not hasattr(self, "box"):
            self.box = QPlainTextEdit()
            self.box.setPlaceholderText(_SHAPES[self.key])
            self.box.setTabChangesFocus(True)
            self.box.setFixedHeight(96)
            self.box.textChanged.connect(self._edited)
        return [self.box]

    def value(self) -> Value:
        """Give the rows as the file keeps them; None when there are none."""
        lines = [line for line in self.box.toPlainText().splitlines() if line.strip()]
        rows = [[cell.strip() for cell in re.split(r"[;\t]", line)] for line in lines]
        names = _NAMED.get(self.key)
        if names is None:
            return rows or None
        return [dict(zip(names, row, strict=False)) for row in rows] or None

    def put(self, value: Any) -> None:
        """Show the rows."""
        names = _NAMED.get(self.key)
        rows = [[row.get(name, "") for name in names] if names else row for row in value or ()]
        self.box.blockSignals(True)
        self.box.setPlainText("\n".join("; ".join(in_words(cell) for cell in row) for row in rows))
        self.box.blockSignals(False)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802  Qt's name
        """Hand in with Ctrl+Enter; the rest is as in every field."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
            if enter and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
                self.hand_in()
                return True
        return super().eventFilter(watched, event)

    def _edited(self) -> None:
        self.touched = True
