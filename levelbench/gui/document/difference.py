"""How the open project and its file differ, line by line: a mark and a word beside every colour."""

import difflib
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QTextCharFormat, QTextCursor
from PySide6.QtWidgets import QDialog, QPlainTextEdit, QWidget

from levelbench.drawing.scene import Role
from levelbench.gui.help.anywhere import explain
from levelbench.gui.look import theme
from levelbench.gui.look.parts import button, column, row, text
from levelbench.gui.look.theme import GRID

MOST = 2000  # lines shown
CONTEXT = 2  # lines that are alike, around each difference


def difference(mine: str, theirs: str) -> list[str]:
    """Give the lines that differ, each after its mark: "− " only here, "+ " only in the file; "⋯" where some agree."""
    shown: list[str] = []
    for line in list(difflib.unified_diff(mine.splitlines(), theirs.splitlines(), n=CONTEXT, lineterm=""))[2:]:
        if line.startswith("@@"):
            shown += ["⋯"] * bool(shown)
        else:
            shown.append({"-": "−", "+": "+"}.get(line[0], " ") + " " + line[1:])
    return shown


class DifferenceDialog(QDialog):
    """Shows the lines that only the open project has, and those that only the file has."""

    def __init__(self, parent: QWidget, mine: str, path: Path) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("What differs – LevelBench")
        self.resize(720, 480)
        self.lines = QPlainTextEdit(readOnly=True)
        self.lines.setProperty("role", "difference")
        self.lines.setAccessibleName("lines that differ")
        self.lines.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        words = self._fill(mine, path)
        close = button("Close", self.accept, "main", "close; nothing is changed by looking")
        close.setDefault(True)
        explained = text("− stands only in your open project    + stands only in the file on the disk", "quiet")
        layout = column(text(f"{path.name}: {words}", "heading"), explained, self.lines, row(None, close))
        layout.setContentsMargins(2 * GRID, 2 * GRID, 2 * GRID, 2 * GRID)
        layout.setStretch(2, 1)
        self.setLayout(layout)
        explain(self, "files#changed-by-another-program")

    def _fill(self, mine: str, path: Path) -> str:
        """Put the lines in, and say in a few words how many they are."""
        try:
            theirs = path.read_text(encoding="utf-8", errors="replace")
        except OSError as error:
            return f"the file can't be read ({error.strerror or type(error).__name__})"
        found = difference(mine, theirs)
        cursor = QTextCursor(self.lines.document())
        for at, line in enumerate(found[:MOST]):
            cursor.insertText(f"{line}\n" if at + 1 < len(found) else line, _look(line))
        self.lines.moveCursor(QTextCursor.MoveOperation.Start)
        fewer, more = (sum(line.startswith(mark) for line in found) for mark in "−+")
        here = "1 line" if fewer == 1 else f"{fewer} lines"
        return f"{here} only here, {more} only in the file" if found else "no difference"


def _look(line: str) -> QTextCharFormat:
    made = QTextCharFormat()
    role = {"−": Role.STOP, "+": Role.WATER_LINE, "⋯": Role.QUIET}.get(line[:1], Role.INK)
    made.setForeground(theme.colour(role))
    return made
