"""The list of everything that was done to the open project, by name; a press goes back or forth to that point."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QUndoStack
from PySide6.QtWidgets import QDialog, QUndoView, QWidget

from levelbench.gui.help.anywhere import explain
from levelbench.gui.look.parts import button, column, row, text
from levelbench.gui.look.theme import GRID


class HistoryDialog(QDialog):
    """Shows the steps from the first on; those that were undone come after the marked one."""

    def __init__(self, parent: QWidget, stack: QUndoStack) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("History – LevelBench")
        self.resize(440, 420)
        self.steps = QUndoView(stack)
        self.steps.setEmptyLabel("as it was opened")
        self.steps.setAccessibleName("steps, the first on top")
        self.steps.setToolTip("press a step to see the project as it was then; the later steps stay in the list")
        words = text(
            "Press a step to see the project as it was then. A new edit from there drops what came after.",
            "quiet",
            wrap=True,
        )
        self.back = button("One step back", stack.undo, tip="undo one step")
        self.forth = button("One step forth", stack.redo, tip="redo one step")
        close = button("Close", self.accept, "main", "close the list; the project stays as it is now")
        close.setDefault(True)
        layout = column(text("What was done", "heading"), words, self.steps, row(self.back, self.forth, None, close))
        layout.setContentsMargins(2 * GRID, 2 * GRID, 2 * GRID, 2 * GRID)
        layout.setStretch(2, 1)
        self.setLayout(layout)
        explain(self, "files#undo-and-history")
        for able, one, signal in (
            (stack.canUndo(), self.back, stack.canUndoChanged),
            (stack.canRedo(), self.forth, stack.canRedoChanged),
        ):
            one.setEnabled(able)
            signal.connect(one.setEnabled)
